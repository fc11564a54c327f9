//! The sizes of a range: asked for by a window, derived in the background from the newest job, kept
//! until the next are asked for.
//!
//! An edit while they are derived begins them anew; one after that makes them stale, and they are
//! derived again when someone asks.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, PoisonError};

use shoe::foot::Foot;
use shoe::job::Job;
use shoe::range::{Piece, Range, Wanted};
use shoe::size::Size;
use shoe::size::fitting::Fitting;

use super::work::{Stamp, Stood};
use super::{Desk, Open, Told};
use crate::every_size;
use crate::workbench::told::sizes::{self, Doing};
use crate::workbench::trouble::Trouble;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::workbench) struct Asked {
    pub(in crate::workbench) sizes: Vec<Size>,
    /// Whether half sizes were asked for.
    pub(in crate::workbench) halves: bool,
    pub(in crate::workbench) fittings: Vec<Option<Fitting>>,
    pub(in crate::workbench) feet: Vec<Foot>,
}

/// Sizes that were derived.
pub(in crate::workbench) struct Made {
    /// Counts those that were derived for this job.
    pub(in crate::workbench) count: u64,
    /// The job that they follow from.
    pub(in crate::workbench) job: Arc<Job>,
    scan: Option<Stamp>,
    pub(in crate::workbench) wanted: Vec<Wanted>,
    /// Those that could be derived, in the order in which they were wanted.
    pub(in crate::workbench) pieces: Vec<Piece>,
    /// Why the others could not.
    pub(in crate::workbench) troubles: Vec<(Wanted, Trouble)>,
}

/// What is known of the sizes of a job.
#[derive(Default)]
pub(super) struct Sizes {
    asked: Option<Asked>,
    phase: Phase,
    made: Option<Arc<Made>>,
    count: u64,
    /// Why none could be derived.
    trouble: Option<Trouble>,
    stopped: bool,
    /// Whether a thread waits for what is asked.
    working: bool,
}

#[derive(Default)]
enum Phase {
    #[default]
    Resting,
    /// Until the job is worked out.
    Waiting,
    Deriving {
        job: Arc<Job>,
        done: usize,
        of: usize,
        stop: Arc<AtomicBool>,
    },
}

impl Sizes {
    /// Ends what is being derived. Returns whether something was.
    fn halt(&mut self) -> bool {
        if let Phase::Deriving { stop, .. } = &self.phase {
            stop.store(true, Ordering::Relaxed);
        }
        !matches!(std::mem::take(&mut self.phase), Phase::Resting)
    }

    /// The job is now another: what is being derived begins anew.
    pub(super) fn changed(&mut self, now: &Job) {
        let same = matches!(&self.phase, Phase::Deriving { job, .. } if **job == noteless(now));
        if !same && self.halt() {
            self.phase = Phase::Waiting;
        }
    }
}

impl Made {
    /// Whether they follow from the job as it is now; its note stands on no piece.
    fn is_of(&self, open: &Open) -> bool {
        *self.job == noteless(open.folder.job()) && self.scan == open.scan
    }

    pub(in crate::workbench) fn piece(&self, name: &str) -> Option<&Piece> {
        self.pieces.iter().find(|piece| crate::papers::range::prefix(&piece.wanted) == name)
    }
}

fn noteless(job: &Job) -> Job {
    Job { note: String::new(), ..job.clone() }
}

impl Desk {
    /// Begins to derive what is asked, in place of what is there.
    pub(in crate::workbench) fn ask_sizes(self: &Arc<Self>, asked: Asked) -> Result<(), Trouble> {
        let mut open = self.lock();
        every_size::wanted(open.folder.job(), &asked.sizes, &asked.fittings, &asked.feet)?;
        open.sizes.halt();
        open.sizes.asked = Some(asked);
        open.sizes.phase = Phase::Waiting;
        open.sizes.stopped = false;
        open.sizes.trouble = None;
        if !std::mem::replace(&mut open.sizes.working, true) {
            let its = self.clone();
            std::thread::spawn(move || keep_deriving(&its));
        }
        self.send(self.sizes_of(&open));
        self.changed.notify_all();
        Ok(())
    }

    /// Derives no further.
    pub(in crate::workbench) fn stop_sizes(&self) {
        let mut open = self.lock();
        if open.sizes.halt() {
            open.sizes.stopped = true;
            self.send(self.sizes_of(&open));
        }
    }

    /// The sizes that were derived last, be the job another since.
    pub(in crate::workbench) fn sizes(&self) -> Result<Arc<Made>, Trouble> {
        self.lock().sizes.made.clone().ok_or_else(none)
    }

    /// The sizes, where they follow from the job as it is now and every one could be derived.
    pub(in crate::workbench) fn sizes_to_write(&self) -> Result<Arc<Made>, Trouble> {
        let open = self.lock();
        let made = open.sizes.made.clone().ok_or_else(none)?;
        if !made.is_of(&open) {
            return Err(Trouble::new(
                "the job was changed since these sizes were derived",
                "derive them again before you write them",
            ));
        }
        match made.troubles.len() {
            0 => Ok(made),
            missing => Err(Trouble::new(
                format!("{missing} of the pieces could not be derived, and nothing is written"),
                "mend what is said of each, or leave those sizes out",
            )),
        }
    }

    pub(super) fn sizes_of(&self, open: &Open) -> Told {
        let Sizes { asked, phase, made, trouble, stopped, .. } = &open.sizes;
        let doing = match phase {
            Phase::Resting => None,
            Phase::Waiting => Some(Doing { done: 0, of: 0 }),
            Phase::Deriving { done, of, .. } => Some(Doing { done: *done, of: *of }),
        };
        let made = made.as_deref().map(|made| (made, !made.is_of(open)));
        Told::json(&sizes::tell(
            open.folder.job(),
            asked.as_ref(),
            doing,
            made,
            trouble.as_ref(),
            *stopped,
        ))
    }
}

fn none() -> Trouble {
    Trouble::new("no sizes have been derived", "pick a run of sizes and derive it first")
}

/// What is to be derived next: its last stands.
struct Task {
    job: Arc<Job>,
    scan: Option<Stamp>,
    stood: Arc<Stood>,
    wanted: Vec<Wanted>,
    stop: Arc<AtomicBool>,
}

/// Derives whatever is asked until the desk is cleared.
fn keep_deriving(desk: &Desk) {
    while let Some(task) = next(desk) {
        let outcome = derive(desk, &task);
        let mut open = desk.lock();
        // Another was asked for meanwhile, or none any more.
        if task.stop.load(Ordering::Relaxed) {
            continue;
        }
        open.sizes.phase = Phase::Resting;
        match outcome {
            Ok(made) => {
                open.sizes.count += 1;
                let count = open.sizes.count;
                open.sizes.made = made.map(|made| Arc::new(Made { count, ..made }));
            }
            Err(trouble) => open.sizes.trouble = Some(trouble),
        }
        desk.send(desk.sizes_of(&open));
    }
}

/// Waits until something is asked and its last stands. `None` when the desk is cleared.
fn next(desk: &Desk) -> Option<Task> {
    let mut open = desk.lock();
    loop {
        if open.closed {
            return None;
        }
        if matches!(open.sizes.phase, Phase::Waiting) && open.worked.revision() == open.revision {
            match task(&mut open) {
                Ok(task) => {
                    // It takes much room, and another comes in its place.
                    open.sizes.made = None;
                    desk.send(desk.sizes_of(&open));
                    return Some(task);
                }
                Err(trouble) => {
                    open.sizes.phase = Phase::Resting;
                    open.sizes.trouble = Some(trouble);
                    desk.send(desk.sizes_of(&open));
                }
            }
        }
        open = desk.changed.wait(open).unwrap_or_else(PoisonError::into_inner);
    }
}

fn task(open: &mut Open) -> Result<Task, Trouble> {
    let job = Arc::new(noteless(open.folder.job()));
    let Some(stood) = open.worked.stood_for(&job) else {
        let why = open.trouble.as_ref().map(|placed| placed.trouble.clone());
        return Err(why.unwrap_or_else(none));
    };
    let Some(Asked { sizes, fittings, feet, .. }) = &open.sizes.asked else { return Err(none()) };
    let wanted = every_size::wanted(&job, sizes, fittings, feet)?;
    let stop = Arc::new(AtomicBool::new(false));
    let (done, of) = (0, wanted.len());
    open.sizes.phase = Phase::Deriving { job: job.clone(), done, of, stop: stop.clone() };
    open.sizes.trouble = None;
    Ok(Task { job, scan: open.scan.clone(), stood, wanted, stop })
}

fn derive(desk: &Desk, task: &Task) -> Result<Option<Made>, Trouble> {
    let Task { job, scan, stood, wanted, stop } = task;
    let range = Range::new(job, stood.last())?;
    // Threads of their own: an edit's work would else have to wait for a piece to end.
    let pool = rayon::ThreadPoolBuilder::new().build().map_err(|error| {
        let message = format!("the sizes cannot be derived side by side: {error}");
        Trouble::new(message, "close other programs and derive them again")
    })?;
    let made = pool.install(|| {
        every_size::derive(&range, wanted, stop, |_, _| {
            let mut open = desk.lock();
            if !stop.load(Ordering::Relaxed)
                && let Phase::Deriving { done, .. } = &mut open.sizes.phase
            {
                *done += 1;
                desk.send(desk.sizes_of(&open));
            }
        })
    });
    let Some(made) = made else { return Ok(None) };
    let (mut pieces, mut troubles) = (Vec::new(), Vec::new());
    for (made, wanted) in made.into_iter().zip(wanted) {
        match made {
            Ok(piece) => pieces.push(piece),
            Err(error) => troubles.push((*wanted, error.into())),
        }
    }
    let (job, scan, wanted) = (job.clone(), scan.clone(), wanted.clone());
    Ok(Some(Made { count: 0, job, scan, wanted, pieces, troubles }))
}
