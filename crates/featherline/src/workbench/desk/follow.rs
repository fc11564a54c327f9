//! The piece while something is dragged: a preview from where it lay, within a few hundredths of a
//! millimetre of the piece as it is cut.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use geometry::surface::Surface;
use shoe::draft::Drafted;
use shoe::stiffener::brief::Brief;
use shoe::stiffener::chart::Chart;
use shoe::stiffener::edge::TopEdge;
use shoe::stiffener::limits::Landmarks;
use shoe::stiffener::wall::Wall;
use shoe::stiffener::{Ground, Moving, Stiffener};

use crate::workbench::told::piece;
use crate::workbench::trouble::Trouble;

/// What came of following a drag.
pub(in crate::workbench) enum Shown {
    /// The piece, told.
    Piece(Vec<u8>),
    /// Why there is none.
    Not { drag: u64, trouble: Trouble },
}

/// Where a drag has brought things.
pub(super) struct Pull {
    pub(super) drag: u64,
    pub(super) revision: u64,
    pub(super) brief: Brief,
    pub(super) landmarks: Landmarks,
    pub(super) answer: Box<dyn Fn(Shown) + Send>,
}

/// A thread that follows drags of one piece. It ends when this is dropped.
pub(super) struct Following {
    drafted: Arc<Drafted>,
    pulls: Sender<Pull>,
    /// Set when a newer piece took this one's place: what still waits is of no more use.
    over: Arc<AtomicBool>,
}

impl Drop for Following {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
    }
}

impl Following {
    /// Begins to make ready for drags of the piece of the job `name`; pulls wait meanwhile.
    pub(super) fn start(drafted: Arc<Drafted>, name: String) -> Self {
        let (pulls, taken) = channel();
        let over = Arc::new(AtomicBool::new(false));
        let (its, ended) = (drafted.clone(), over.clone());
        std::thread::spawn(move || follow(&its, &name, &taken, &ended));
        Self { drafted, pulls, over }
    }

    /// The piece that it begins from.
    pub(super) fn drafted(&self) -> &Drafted {
        &self.drafted
    }

    /// Whether a piece for `brief` can be shown from where this one lies: not at another distance
    /// from the last.
    pub(super) fn can_show(&self, brief: &Brief) -> bool {
        brief.neutral_offset() == self.drafted.stiffener.brief.neutral_offset()
    }

    /// Follows, unless another pull comes before its turn.
    pub(super) fn pull(&self, pull: Pull) {
        // A follower that found no ground has gone; the piece then follows on letting go.
        let _ = self.pulls.send(pull);
    }
}

/// Follows until nobody pulls any more; gives up where the last leaves no room about the piece.
fn follow(drafted: &Drafted, name: &str, pulls: &Receiver<Pull>, over: &AtomicBool) -> Option<()> {
    let (last, piece) = (&drafted.last, &drafted.stiffener);
    let surface = Surface::new(&last.mesh).ok()?;
    let chart = Chart::new(&surface, &last.marks.feather_line.points, last.foot).ok()?;
    let offset = piece.brief.neutral_offset();
    let ground = Ground::about(&chart, &piece.edge, offset).ok()?;
    // Cuts in the wall are looked for on letting go; till then it is shown whole.
    let whole = match piece.wall.cuts.is_empty() {
        true => None,
        false => Some(Wall::make(&chart, &piece.edge, offset).ok()?),
    };
    let wall = whole.as_ref().unwrap_or(&piece.wall);
    let mut moving = Moving::begin(&chart, &ground, &piece.edge, wall).ok()?;
    while let Ok(first) = pulls.recv() {
        let pull = pulls.try_iter().last().unwrap_or(first);
        if over.load(Ordering::Relaxed) {
            break;
        }
        let shown = show(drafted, name, &chart, &mut moving, &pull);
        (pull.answer)(shown);
    }
    Some(())
}

fn show(
    drafted: &Drafted,
    name: &str,
    chart: &Chart<'_, '_>,
    moving: &mut Moving<'_>,
    pull: &Pull,
) -> Shown {
    let not = |trouble: Trouble| Shown::Not { drag: pull.drag, trouble };
    let edge = match TopEdge::design(chart, &pull.brief, &pull.landmarks) {
        Ok(edge) => edge,
        Err(error) => return not(error.into()),
    };
    let wall = match moving.follow(&edge) {
        Ok(wall) => wall,
        Err(error) => return not(Trouble::of(&error)),
    };
    let placed = drafted.stiffener.ankles_placed;
    let (foot, marks) = (drafted.last.foot, &pull.landmarks);
    match Stiffener::about(foot, &pull.brief, marks, placed, edge, wall) {
        Ok(piece) => Shown::Piece(piece::tell(chart, &piece, name, pull.revision, Some(pull.drag))),
        Err(error) => not(Trouble::of(&error)),
    }
}
