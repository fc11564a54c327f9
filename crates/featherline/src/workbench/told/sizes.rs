//! The sizes of a range: what there is to choose from, how far they are derived, and what came of it.

use geometry::drawing::Drawing;
use serde::Serialize;
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::range::{GradeTable, Piece, nested};
use shoe::reasons::Verdict;
use shoe::size::fitting::Family;
use shoe::size::{Size, through};

use super::piece::{BoundsTold, DrawnItem, bounds, drawn};
use crate::papers::range::prefix;
use crate::workbench::desk::{Asked, Made};
use crate::workbench::trouble::Trouble;

/// The usual run goes so many sizes to either side of the last's own.
const TO_EITHER_SIDE: usize = 3;

#[derive(Debug, Serialize)]
pub(in crate::workbench) struct SizesTold<'a> {
    tell: &'static str,
    system: &'static str,
    own: String,
    whole: Vec<String>,
    halves: Vec<String>,
    usual: RunTold,
    fittings: &'static [&'static str],
    fitting: Option<String>,
    asked: Option<AskedTold>,
    doing: Option<Doing>,
    made: Option<MadeTold<'a>>,
    trouble: Option<&'a Trouble>,
    stopped: bool,
}

#[derive(Debug, Serialize)]
struct RunTold {
    from: String,
    to: String,
}

#[derive(Debug, Serialize)]
struct AskedTold {
    #[serde(flatten)]
    run: RunTold,
    halves: bool,
    fittings: Vec<String>,
    feet: Vec<Foot>,
}

/// How many of the pieces are derived; of none as long as the job is worked out first.
#[derive(Debug, Serialize)]
pub(in crate::workbench) struct Doing {
    pub(in crate::workbench) done: usize,
    pub(in crate::workbench) of: usize,
}

#[derive(Debug, Serialize)]
struct MadeTold<'a> {
    count: u64,
    stale: bool,
    pieces: Vec<SizeTold<'a>>,
}

#[derive(Debug, Serialize)]
struct SizeTold<'a> {
    /// How the names of its files begin.
    name: String,
    size: Size,
    fitting: Option<String>,
    foot: Foot,
    trouble: Option<&'a Trouble>,
}

/// Tells of the choices, and of `made`, which may be stale.
pub(in crate::workbench) fn tell<'a>(
    job: &Job,
    asked: Option<&Asked>,
    doing: Option<Doing>,
    made: Option<(&'a Made, bool)>,
    trouble: Option<&'a Trouble>,
    stopped: bool,
) -> SizesTold<'a> {
    let own = job.last.size;
    let system = own.system();
    let whole = through(own, false);
    let halves = if system.has_halves() { through(own, true) } else { Vec::new() };
    let names = |sizes: &[Size]| sizes.iter().map(Size::to_string).collect();
    SizesTold {
        tell: "sizes",
        system: system.short(),
        own: own.to_string(),
        usual: usual(own, &whole),
        whole: names(&whole),
        halves: names(&halves),
        fittings: Family::of(system).map(Family::names).unwrap_or_default(),
        fitting: job.last.fitting().map(|fitting| fitting.to_string()),
        asked: asked.and_then(asked_told),
        doing,
        made: made.map(|(made, stale)| made_told(made, stale)),
        trouble,
        stopped,
    }
}

/// A run about the last's own size, of children's or adults' sizes as it is one.
fn usual(own: Size, whole: &[Size]) -> RunTold {
    let alike: Vec<&Size> = whole.iter().filter(|s| s.is_child() == own.is_child()).collect();
    let at = alike.iter().position(|size| **size == own).unwrap_or_default();
    let end = |at: usize| alike.get(at).map_or(own, |size| **size).to_string();
    let last = alike.len().saturating_sub(1);
    RunTold {
        from: end(at.saturating_sub(TO_EITHER_SIDE)),
        to: end((at + TO_EITHER_SIDE).min(last)),
    }
}

fn asked_told(asked: &Asked) -> Option<AskedTold> {
    let run =
        RunTold { from: asked.sizes.first()?.to_string(), to: asked.sizes.last()?.to_string() };
    let fittings = asked.fittings.iter().flatten().map(ToString::to_string).collect();
    Some(AskedTold { run, halves: asked.halves, fittings, feet: asked.feet.clone() })
}

fn made_told(made: &Made, stale: bool) -> MadeTold<'_> {
    let pieces = made.wanted.iter().map(|wanted| {
        let trouble = made.troubles.iter().find(|(of, _)| of == wanted).map(|(_, why)| why);
        SizeTold {
            name: prefix(wanted),
            size: wanted.size,
            fitting: wanted.fitting.map(|fitting| fitting.to_string()),
            foot: wanted.foot,
            trouble,
        }
    });
    MadeTold { count: made.count, stale, pieces: pieces.collect() }
}

/// All pieces side by side and over each other.
#[derive(Debug, Serialize)]
pub(in crate::workbench) struct TogetherTold {
    count: u64,
    tables: Vec<GradeTable>,
    nests: Vec<NestTold>,
    /// In the order of what was wanted.
    verdicts: Vec<VerdictsTold>,
}

#[derive(Debug, Serialize)]
struct NestTold {
    foot: Foot,
    bounds: BoundsTold,
    /// The largest first.
    pieces: Vec<NestedTold>,
}

#[derive(Debug, Serialize)]
struct NestedTold {
    name: String,
    drawing: Vec<DrawnItem>,
}

#[derive(Debug, Serialize)]
struct VerdictsTold {
    name: String,
    failed: usize,
    open: usize,
}

pub(in crate::workbench) fn together(made: &Made) -> TogetherTold {
    let verdicts = made.pieces.iter().map(|piece| VerdictsTold {
        name: prefix(&piece.wanted),
        failed: piece.drafted.count(Verdict::Fail),
        open: piece.drafted.count(Verdict::Unsure),
    });
    TogetherTold {
        count: made.count,
        tables: GradeTable::all(&made.pieces),
        nests: nests(&made.pieces),
        verdicts: verdicts.collect(),
    }
}

fn nests(pieces: &[Piece]) -> Vec<NestTold> {
    let on = |foot: Foot| {
        let nest = shoe::range::nest(pieces, foot, "");
        let (low, high) = nest.bounds()?;
        let mut of_foot: Vec<&Piece> = pieces.iter().filter(|p| p.wanted.foot == foot).collect();
        of_foot.sort_by(|a, b| b.wanted.size.number().total_cmp(&a.wanted.size.number()));
        let pieces = of_foot.iter().enumerate().map(|(nth, piece)| {
            let drawing = Drawing { title: String::new(), items: nested(piece, nth) };
            NestedTold { name: prefix(&piece.wanted), drawing: drawn(&drawing) }
        });
        Some(NestTold { foot, bounds: bounds(low, high), pieces: pieces.collect() })
    };
    [Foot::Left, Foot::Right].into_iter().filter_map(on).collect()
}
