//! A job on the desk: open, edited, worked out in the background, and told to every window that
//! looks at it.
//!
//! Edits are done at once and saved at once. What follows from them is worked out by a thread of its
//! own (`work`), always for the newest job; a drag is followed by another (`follow`), which shows
//! previews and keeps nothing.

mod drag;
mod follow;
mod sizes;
#[cfg(test)]
mod sizes_tests;
mod work;

use std::path::Path;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use geometry::warned::Warned;
use shoe::job::{Command, JobFolder, OpenError, SaveError};
use shoe::{asked, job};
use tokio::sync::broadcast;

use super::told::state::{PlacedTrouble, State};
use super::trouble::Trouble;
use follow::Following;
use sizes::Sizes;
use work::{Stamp, Worked};

pub(super) use drag::{Aim, Drags, Sight};
pub(super) use follow::Shown;
pub(super) use sizes::{Asked, Made};

/// What is told to windows: text, or the bytes of a piece.
#[derive(Debug, Clone)]
pub(super) enum Told {
    Text(Arc<str>),
    Bytes(Arc<[u8]>),
}

impl Told {
    pub(super) fn json(value: &impl serde::Serialize) -> Self {
        // Plain numbers and strings always have a JSON form.
        Told::Text(serde_json::to_string(value).unwrap_or_default().into())
    }
}

/// So many messages may wait for a slow window before it has to be told everything anew.
const WAITING: usize = 64;

/// What is told of work that has not begun.
const TO_BE_DONE: &str = "working out what follows";

/// A job on the desk.
pub(super) struct Desk {
    name: String,
    state: Mutex<Open>,
    changed: Condvar,
    tell: broadcast::Sender<Told>,
}

/// What is known of the job.
struct Open {
    folder: JobFolder,
    /// Counts what was done to the job since it was laid on the desk.
    revision: u64,
    /// What was worked out, and for which revision.
    worked: Worked,
    /// Why the newest revision could not be worked out.
    trouble: Option<PlacedTrouble>,
    /// Why the job cannot be read at present; what is shown is then how it was before.
    unreadable: Option<Trouble>,
    /// The scan as it was when it was worked with last.
    scan: Option<Stamp>,
    /// What is being done.
    doing: Option<String>,
    /// Who follows a drag.
    following: Option<Following>,
    sizes: Sizes,
    closed: bool,
}

/// Why an edit was not done.
#[derive(Debug, thiserror::Error)]
pub(super) enum EditRefused {
    #[error(transparent)]
    Edit(#[from] job::EditError),
    #[error(transparent)]
    Step(#[from] job::StepError),
    #[error(transparent)]
    Save(#[from] SaveError),
    #[error("the job was changed outside, and cannot be read any more")]
    Changed(#[from] OpenError),
    #[error("there is nothing to take back")]
    NothingToUndo,
    #[error("there is nothing to bring back")]
    NothingToRedo,
    #[error("the last does not stand yet; wait until it does")]
    NotStanding,
    #[error("nothing was dragged")]
    NothingDragged,
}

impl Desk {
    /// Lays a job on the desk and begins to work it out.
    pub(super) fn open(name: &str, folder: &Path) -> Result<Arc<Self>, OpenError> {
        let Warned { value: folder, .. } = JobFolder::open(folder)?;
        let (tell, _) = broadcast::channel(WAITING);
        let open = Open {
            folder,
            revision: 1,
            worked: Worked::default(),
            trouble: None,
            unreadable: None,
            scan: None,
            doing: Some(TO_BE_DONE.to_owned()),
            following: None,
            sizes: Sizes::default(),
            closed: false,
        };
        let desk = Arc::new(Self {
            name: name.to_owned(),
            state: Mutex::new(open),
            changed: Condvar::new(),
            tell,
        });
        let its = desk.clone();
        std::thread::spawn(move || work::keep_working(&its));
        Ok(desk)
    }

    fn lock(&self) -> MutexGuard<'_, Open> {
        // A thread that panicked while it held the lock left nothing half done: edits are whole.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Everything told from now on.
    pub(super) fn listen(&self) -> broadcast::Receiver<Told> {
        self.tell.subscribe()
    }

    /// Everything a window must know that begins to look.
    pub(super) fn all(&self) -> Vec<Told> {
        let open = self.lock();
        let mut all = vec![self.state_of(&open)];
        all.extend(open.worked.piece_told().map(Told::Bytes));
        all.push(doing(open.doing.as_deref()));
        all.push(self.sizes_of(&open));
        all.extend(open.unreadable.as_ref().map(broken));
        all
    }

    /// Clears the desk: its worker ends.
    pub(super) fn clear(&self) {
        self.lock().closed = true;
        self.changed.notify_all();
    }

    fn send(&self, told: Told) {
        // No window looks: nothing to do.
        let _ = self.tell.send(told);
    }

    fn state_of(&self, open: &Open) -> Told {
        let folder = &open.folder;
        let job = folder.job();
        let worked = &open.worked;
        Told::json(&State {
            tell: "state",
            revision: open.revision,
            job: &self.name,
            name: &job.name,
            note: &job.note,
            undo: folder.to_undo().map(Command::key),
            redo: folder.to_redo().map(Command::key),
            entries: asked::entries(folder, worked.last(), worked.drafted()),
            last: worked.last_told(),
            trouble: open.trouble.as_ref(),
            report: worked.report_told(),
        })
    }

    /// Tells every window the state and wakes the worker.
    fn changed(&self, open: &mut Open) {
        open.revision += 1;
        open.doing = Some(TO_BE_DONE.to_owned());
        open.sizes.changed(open.folder.job());
        self.send(self.state_of(open));
        self.send(doing(Some(TO_BE_DONE)));
        self.send(self.sizes_of(open));
        self.run_ahead(open);
        self.changed.notify_all();
    }

    /// Does edits that belong together and saves them. Returns whether anything changed.
    pub(super) fn edit(&self, commands: &[Command]) -> Result<bool, EditRefused> {
        self.done(|folder| {
            let mut commands = commands.to_vec();
            // How the last stands is kept with its scale, so it holds for no other unit or scan.
            let other = |c: &Command| matches!(c, Command::Unit(_) | Command::File(_));
            let stands_anew = commands.iter().any(other) && folder.job().last.pose.is_some();
            if stands_anew && !commands.iter().any(|c| matches!(c, Command::Pose(_))) {
                commands.insert(0, Command::Pose(None));
            }
            Ok(folder.apply_together(&commands)?)
        })
    }

    /// Takes the last edit back.
    pub(super) fn undo(&self) -> Result<(), EditRefused> {
        self.done(|folder| folder.undo()?.map(|_| true).ok_or(EditRefused::NothingToUndo)).map(drop)
    }

    /// Brings the edit back that was taken back last.
    pub(super) fn redo(&self) -> Result<(), EditRefused> {
        self.done(|folder| folder.redo()?.map(|_| true).ok_or(EditRefused::NothingToRedo)).map(drop)
    }

    /// Does something to the job and saves it. Where another program changed it meanwhile it is read
    /// anew first, so that neither change is lost.
    fn done(
        &self,
        act: impl Fn(&mut JobFolder) -> Result<bool, EditRefused>,
    ) -> Result<bool, EditRefused> {
        let mut open = self.lock();
        self.read_if_changed(&mut open)?;
        if !act(&mut open.folder)? {
            return Ok(false);
        }
        match open.folder.save() {
            Ok(()) => {}
            Err(error) => {
                // What could not be saved is not shown as if it were.
                let path = open.folder.path().to_owned();
                open.folder = JobFolder::open(&path)?.value;
                self.changed(&mut open);
                return Err(error.into());
            }
        }
        self.changed(&mut open);
        Ok(true)
    }

    /// Looks whether another program changed the job or its scan: reads anew what it changed, and
    /// tells every window when the job cannot be read any more, and when it can be again.
    pub(super) fn look_for_changes(&self) {
        let mut open = self.lock();
        let before = open.revision;
        let unreadable = self.read_if_changed(&mut open).err().map(|error| Trouble {
            hint: Some("put it right, and the work goes on here by itself".into()),
            ..error.into()
        });
        let was = std::mem::replace(&mut open.unreadable, unreadable.clone());
        match (unreadable, was) {
            (Some(trouble), was) if was.as_ref() != Some(&trouble) => self.send(broken(&trouble)),
            // As it was before, to the letter; of another the windows were told.
            (None, Some(_)) if open.revision == before => self.send(self.state_of(&open)),
            _ => {}
        }
        let waits = open.worked.revision() == open.revision && open.unreadable.is_none();
        if waits && Stamp::of(&open.folder.mesh_path()) != open.scan {
            self.elsewhere(
                "the scan was changed outside this program; what follows is worked out anew",
            );
            self.changed(&mut open);
        }
    }

    fn read_if_changed(&self, open: &mut Open) -> Result<(), OpenError> {
        if open.folder.is_as_saved().unwrap_or(false) {
            return Ok(());
        }
        let path = open.folder.path().to_owned();
        open.folder = JobFolder::open(&path)?.value;
        self.elsewhere(
            "the job was changed outside this program; what you see is the newest state",
        );
        self.changed(open);
        Ok(())
    }

    fn elsewhere(&self, words: &str) {
        self.send(Told::json(&serde_json::json!({ "tell": "elsewhere", "words": words })));
    }

    /// What a value as typed would be, in words, and the edit that makes it so.
    pub(super) fn understand(&self, key: &str, text: &str) -> Result<Command, Trouble> {
        let command = Command::parse(key, text)?;
        self.lock().folder.tried(&command)?;
        Ok(command)
    }

    /// The size that the last is made for.
    pub(super) fn size(&self) -> shoe::size::Size {
        self.lock().folder.job().last.size
    }

    /// The finished piece of the newest revision, worked out cold; waits for it.
    pub(super) fn drafted(&self) -> Result<Arc<shoe::draft::Drafted>, Trouble> {
        let mut open = self.lock();
        loop {
            if open.worked.revision() == open.revision {
                return match (open.worked.drafted_now(), &open.trouble) {
                    (Some(drafted), None) => Ok(drafted),
                    (_, Some(placed)) => Err(placed.trouble.clone()),
                    _ => Err(Trouble::new("there is no piece", "see what the checks say")),
                };
            }
            open = self.changed.wait(open).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// The scan as read, or mended and stood; waits for it. `None` where it cannot be had.
    pub(super) fn mesh(&self, stood: bool) -> Option<Arc<[u8]>> {
        let mut open = self.lock();
        loop {
            let worked = &open.worked;
            let bytes = if stood { worked.stood_bytes() } else { worked.read_bytes() };
            if bytes.is_some() || worked.revision() == open.revision || open.closed {
                return bytes;
            }
            open = self.changed.wait(open).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

fn broken(trouble: &Trouble) -> Told {
    Told::json(&serde_json::json!({ "tell": "broken", "trouble": trouble }))
}

fn doing(words: Option<&str>) -> Told {
    Told::json(&serde_json::json!({ "tell": "doing", "doing": words }))
}
