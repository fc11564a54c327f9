//! Dragging: what a finger holds, where it has brought it, and the edit that it becomes.

use glam::{DAffine3, DVec3};
use shoe::job::{Command, Job};
use shoe::last::stand::Last;
use shoe::stiffener::limits::Landmarks;
use tokio::sync::mpsc::UnboundedSender;

use super::follow::{Following, Pull, Shown};
use super::{Desk, EditRefused, Open, Told};
use crate::workbench::told::last::{TURNING, follows, rows};
use crate::workbench::trouble::Trouble;

/// Numbers are dragged to so many parts of a millimetre: what a ruler shows is half of one.
const PER_MM: f64 = 10.0;

/// Places are kept to this much, mm.
const PLACE_STEP: f64 = 0.001;

/// The drag of a piece that runs ahead of an edit; windows count theirs from 1.
const NO_DRAG: u64 = 0;

/// What is dragged, and where to.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::workbench) enum Aim {
    /// A mark to a place in the last frame, mm.
    Mark { key: String, at: DVec3 },
    /// A number, mm.
    Entry { key: String, value: f64 },
}

/// Where a mark is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::workbench) enum Sight {
    /// Where the ray from the eye meets the last: from, along.
    Ray(DVec3, DVec3),
    /// At the place of the last nearest to this.
    Near(DVec3),
}

/// The drags of one window: at most one at a time.
#[derive(Debug, Default)]
pub(in crate::workbench) struct Drags {
    held: Option<(u64, Aim)>,
}

impl Drags {
    pub(in crate::workbench) fn hold(&mut self, drag: u64, aim: Aim) {
        self.held = Some((drag, aim));
    }

    pub(in crate::workbench) fn leave(&mut self, drag: u64) {
        self.held.take_if(|(held, _)| *held == drag);
    }

    pub(in crate::workbench) fn take(&mut self, drag: u64) -> Option<Aim> {
        self.held.take_if(|(held, _)| *held == drag).map(|(_, aim)| aim)
    }
}

impl Desk {
    /// The mark of `key`, aimed at; `None` where the ray passes the last by.
    pub(in crate::workbench) fn aim(
        &self,
        key: &str,
        sight: Sight,
    ) -> Result<Option<Aim>, Trouble> {
        // Any place will do to ask whether there is such a mark.
        Command::parse(key, "0 0 0")?;
        let open = self.lock();
        let pick = open.worked.pick().ok_or(EditRefused::NotStanding)?;
        let at = match sight {
            Sight::Ray(from, along) => pick.ray(from, along),
            Sight::Near(place) => pick.nearest(place),
        };
        Ok(at.map(|at| Aim::Mark { key: key.to_owned(), at }))
    }

    /// The number of `key`, aimed at `value` as a ruler can tell it.
    pub(in crate::workbench) fn aim_number(&self, key: &str, value: f64) -> Result<Aim, Trouble> {
        let value = (value * PER_MM).round() / PER_MM;
        self.understand(key, &value.to_string())?;
        Ok(Aim::Entry { key: key.to_owned(), value })
    }

    /// Has the piece follow, where it can; it comes by `answer`.
    pub(in crate::workbench) fn follow(
        &self,
        drag: u64,
        aim: &Aim,
        answer: &UnboundedSender<Shown>,
    ) {
        let open = self.lock();
        let Some(following) = &open.following else { return };
        let (job, mark) = match aim {
            Aim::Mark { key, at } if follows(key, open.folder.job().last.pose.is_some()) => {
                (open.folder.job().clone(), Some((key.as_str(), at.x)))
            }
            Aim::Mark { .. } => return,
            Aim::Entry { key, value } => {
                let tried = Command::parse(key, &value.to_string())
                    .ok()
                    .and_then(|command| open.folder.tried(&command).ok());
                let Some(job) = tried else { return };
                (job, None)
            }
        };
        // A window that was closed needs no answer.
        let answer = answer.clone();
        let answer = Box::new(move |shown| drop(answer.send(shown)));
        pull(following, drag, open.revision, &job, mark, answer);
    }

    /// Shows every window at once what an edit makes of the piece, where the last stands as before;
    /// the piece as it is cut comes behind it.
    pub(super) fn run_ahead(&self, open: &Open) {
        let (Some(following), Some(given)) = (&open.following, open.worked.given()) else { return };
        let job = open.folder.job();
        if *given != shoe::draft::given(job) {
            return;
        }
        let tell = self.tell.clone();
        let answer = Box::new(move |shown| {
            // Why there is no piece is told when it was worked out; and nobody need be looking.
            if let Shown::Piece(bytes) = shown {
                drop(tell.send(Told::Bytes(bytes.into())));
            }
        });
        pull(following, NO_DRAG, open.revision, job, None, answer);
    }

    /// Turns what was dragged into an edit.
    pub(in crate::workbench) fn let_go(&self, aim: &Aim) -> Result<bool, EditRefused> {
        let commands = {
            let open = self.lock();
            match aim {
                Aim::Entry { key, value } => {
                    Command::parse(key, &value.to_string()).into_iter().collect::<Vec<_>>()
                }
                Aim::Mark { key, at } => {
                    let last = open.worked.last().ok_or(EditRefused::NotStanding)?;
                    mark_commands(last, open.folder.job(), key, *at)
                }
            }
        };
        self.edit(&commands)
    }
}

/// Has the piece follow to what `job` says, and to the mark that is held, where it can be shown.
fn pull(
    following: &Following,
    drag: u64,
    revision: u64,
    job: &Job,
    held: Option<(&str, f64)>,
    answer: Box<dyn Fn(Shown) + Send>,
) {
    let brief = job.brief();
    if following.can_show(&brief) {
        let landmarks = landmarks(&following.drafted().last, job, held);
        following.pull(Pull { drag, revision, brief, landmarks, answer });
    }
}

/// The edits that set a mark to a place in the last frame. A last that stands as it was found would
/// turn about after a joint or the seat: it is held as it stands.
pub(in crate::workbench) fn mark_commands(
    last: &Last,
    job: &Job,
    key: &str,
    at: DVec3,
) -> Vec<Command> {
    let mut commands = Vec::new();
    if TURNING.contains(&key) && job.last.pose.is_none() {
        commands.push(Command::Pose(Some(rows(last))));
    }
    let place = rounded(last.last_from_file, at);
    let text = format!("[{}, {}, {}]", place.x, place.y, place.z);
    commands.extend(Command::parse(key, &text));
    commands
}

/// A place of the last frame in the file's coordinates, to a thousandth of a millimetre.
fn rounded(last_from_file: DAffine3, at: DVec3) -> DVec3 {
    let scale = last_from_file.matrix3.determinant().cbrt();
    let decimals = (scale / PLACE_STEP).log10().ceil().clamp(0.0, 12.0);
    let ten = 10_f64.powf(decimals);
    let place = last_from_file.inverse().transform_point3(at);
    (place * ten).round() / ten
}

/// The places the rules speak of, with those that the job holds and the one being dragged.
fn landmarks(last: &Last, job: &Job, dragged: Option<(&str, f64)>) -> Landmarks {
    let mut all = Landmarks::of(&last.marks);
    let marks = &job.marks;
    let places: [(&str, Option<DVec3>, &mut f64); 5] = [
        ("marks.ankle_medial", marks.ankle_medial, &mut all.ankle.0),
        ("marks.ankle_lateral", marks.ankle_lateral, &mut all.ankle.1),
        ("marks.joint_medial", marks.joint_medial, &mut all.joint.0),
        ("marks.joint_lateral", marks.joint_lateral, &mut all.joint.1),
        ("marks.breast", marks.breast, &mut all.breast),
    ];
    for (key, given, x) in places {
        if let Some(place) = given {
            *x = last.last_from_file.transform_point3(place).x;
        }
        if let Some((_, dragged)) = dragged.filter(|(held, _)| *held == key) {
            *x = dragged;
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_kept_to_a_thousandth_whatever_the_unit() {
        let at = DVec3::new(12.345_678, -3.4, 80.000_4);
        for scale in [1.0, 10.0, 25.4, 1000.0] {
            let last_from_file = DAffine3::from_scale_rotation_translation(
                DVec3::splat(scale),
                glam::DQuat::from_rotation_z(0.4),
                DVec3::new(3.0, 4.0, 5.0),
            );
            let again = last_from_file.transform_point3(rounded(last_from_file, at));
            assert!(again.distance(at) < 0.001, "{scale}: {again}");
        }
    }
}
