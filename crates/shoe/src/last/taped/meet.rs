//! Turns the moves of a built last until every measure entered is met.

use geometry::mesh::TriMesh;
use geometry::units::{Mm, Unit};

use super::super::build::{FittedLast, LastMeasures};
use super::super::fit::solved;
use super::super::marks::Foot;
use super::super::measure::{measure, set_back_at};
use super::super::ridge;
use super::super::stand::{Given, Last, stand};
use super::entries::{BACK_POINTS, TapeMeasures};
use super::shape::{Base, COSTS, MOVES, Moves};
use super::{Met, TapeError, Taped};

/// Measures that can be asked for, in the order of [`NAMES`].
const COUNT: usize = 9 + BACK_POINTS;

/// Their names; and which of them stands against each, where it cannot be reached.
const NAMES: [(&str, usize); COUNT] = [
    ("length", 8),
    ("seat width", 2),
    ("tread width", 3),
    ("ball girth", 2),
    ("waist girth", 3),
    ("instep girth", 4),
    ("long heel girth", 5),
    ("short heel girth", 6),
    ("toe spring", 0),
    ("back curve's first place", 0),
    ("back curve's second place", 9),
    ("back curve's third place", 10),
];

/// A move is tried by this share of its cost to tell its effect.
const TRIED: f64 = 0.05;

/// The largest move in one step, and in all, in costs: beyond, it is no last any more.
const STEP: f64 = 3.0;
const MOST: f64 = 7.0;

/// Triangles on which the moves are sought, times as long as those of the last.
const COARSER: f64 = 1.6;

/// Met while turning, mm; and on the finished mesh, with its marks found anew.
const CLOSE: f64 = 0.004;
const MET: f64 = 0.1;

/// Near enough where a mark found anew jumps: below what a tape reads, mm.
const NEAR: f64 = 0.3;

/// Steps in one turning; rounds of turning, each after measuring the finished mesh.
const STEPS: usize = 30;
const ROUNDS: usize = 8;

/// A value for each measure.
type Values = [f64; COUNT];

/// How each measure (row) answers to each move.
type Slopes = [[f64; MOVES]; COUNT];

/// Makes the last.
pub(super) fn met(entered: &TapeMeasures) -> Result<Taped, TapeError> {
    let build = entered.to_build()?;
    let given = Given {
        unit: Some(Unit::Mm),
        foot: Some(Foot::Right),
        heel_height: Some(Mm::new(build.heel_height)),
        standard_last_length: Some(Mm::new(entered.standard_last_length)),
        ..Given::nothing()
    };
    let asked = asked(entered, &build);
    let heights: Vec<f64> = entered.back_curve.iter().map(|point| point.0).collect();
    let stood = |mesh: &TriMesh| stand(mesh, &given).map(|stood| stood.value);

    // The moves are smooth, so they are sought on few triangles.
    let form = FittedLast::new(&build)?;
    let coarse = stood(&form.meshed(build.resolution * COARSER)?.mesh)?;
    let turning = Turning { base: Base::new(&coarse, &heights).ok_or(TapeError::NoBottom)?, asked };
    let (mut moves, slopes) = turning.turned()?;

    let fine = stood(&form.meshed(build.resolution)?.mesh)?;
    let base = Base::new(&fine, &heights).ok_or(TapeError::NoBottom)?;
    let (mut share, mut before) = (1.0, f64::INFINITY);
    let mut best: Option<(f64, Last, Values)> = None;
    for _ in 0..ROUNDS {
        let last = stood(&base.moved(&moves).mesh)?;
        let has = values(&last, &heights);
        let lacking = off(&asked, &has);
        let worst = worst_off(&lacking);
        if best.as_ref().is_none_or(|best| worst < best.0) {
            best = Some((worst, last, has));
        }
        if worst < MET {
            break;
        }
        // A mark found anew can jump from one place to the next, and the measures with it.
        if worst > 0.5 * before {
            share *= 0.6;
        }
        before = worst;
        let Some(step) = least_costly(&slopes, &lacking) else { break };
        add(&mut moves, &step, share);
    }
    match best {
        Some((worst, last, has)) if worst < NEAR => Ok(finished(entered, last, &has)),
        Some((_, _, has)) => Err(not_met(&asked, &has)),
        None => Err(TapeError::NoBottom),
    }
}

/// What is asked for: what is entered, and what the builder was asked for.
fn asked(entered: &TapeMeasures, build: &LastMeasures) -> [Option<f64>; COUNT] {
    let mut back = [None; BACK_POINTS];
    for (asked, (_, forward)) in back.iter_mut().zip(&entered.back_curve) {
        *asked = Some(*forward);
    }
    [
        Some(build.length),
        Some(build.seat_width),
        Some(build.tread_width),
        Some(build.ball_girth),
        entered.waist_girth,
        entered.instep_girth,
        entered.long_heel_girth,
        entered.short_heel_girth,
        Some(build.toe_spring),
        back[0],
        back[1],
        back[2],
    ]
}

/// Every measure of `last`, its back at these heights.
fn values(last: &Last, heights: &[f64]) -> Values {
    let m = measure(last, &last.mesh, None).value;
    let girths = &m.girths;
    let back = |k: usize| {
        let height = heights.get(k)?;
        set_back_at(&last.marks.centre_back, *height)
    };
    [
        m.length,
        m.seat_width,
        m.tread_width,
        girths.ball.length,
        girths.waist.length,
        girths.instep.length,
        girths.long_heel.length,
        girths.short_heel.length,
        m.toe_spring,
        back(0).unwrap_or(0.0),
        back(1).unwrap_or(0.0),
        back(2).unwrap_or(0.0),
    ]
}

/// What each measure lacks.
fn off(asked: &[Option<f64>; COUNT], has: &Values) -> Values {
    std::array::from_fn(|k| asked[k].map_or(0.0, |asked| asked - has[k]))
}

/// Adds a share of `step`, no further than a last goes.
fn add(moves: &mut Moves, step: &Moves, share: f64) {
    for ((whole, step), cost) in moves.iter_mut().zip(step).zip(COSTS) {
        *whole = (*whole + share * step).clamp(-MOST * cost, MOST * cost);
    }
}

/// A built last being turned until it has what is asked for.
struct Turning<'a> {
    base: Base<'a>,
    asked: [Option<f64>; COUNT],
}

impl Turning<'_> {
    /// Every measure after these moves. What the rule finds on the ridge is found anew.
    fn after(&self, moves: &Moves) -> Values {
        let mut last = self.base.moved(moves);
        ridge::find_anew(&last.mesh, &mut last.marks);
        values(&last, self.base.heights)
    }

    /// Newton's method by the least costly moves, their effects told anew where they no longer
    /// lead on. The moves, and how the measures answer to them there.
    fn turned(&self) -> Result<(Moves, Slopes), TapeError> {
        let mut moves = [0.0; MOVES];
        let mut has = self.after(&moves);
        let mut slopes = self.slopes(&moves, &has);
        for _ in 0..STEPS {
            let lacking = off(&self.asked, &has);
            let worst = worst_off(&lacking);
            if worst < CLOSE {
                return Ok((moves, slopes));
            }
            let Some(step) = least_costly(&slopes, &lacking) else { break };
            // All in one proportion, so that what was solved together stays together.
            let costs = step.iter().zip(COSTS).map(|(step, cost)| step.abs() / cost);
            add(&mut moves, &step, (STEP / costs.fold(0.0, f64::max)).min(1.0));
            has = self.after(&moves);
            if worst_off(&off(&self.asked, &has)) > 0.3 * worst {
                slopes = self.slopes(&moves, &has);
            }
        }
        Err(not_met(&self.asked, &has))
    }

    /// How each measure that is asked for (row) answers to each move, for a cost of it.
    fn slopes(&self, moves: &Moves, has: &Values) -> Slopes {
        let mut slopes = [[0.0; MOVES]; COUNT];
        for j in 0..MOVES - BACK_POINTS + self.base.heights.len() {
            let mut tried = *moves;
            tried[j] += TRIED * COSTS[j];
            let then = self.after(&tried);
            for k in (0..COUNT).filter(|k| self.asked[*k].is_some()) {
                slopes[k][j] = (then[k] - has[k]) / TRIED;
            }
        }
        slopes
    }
}

/// The largest of what the measures lack.
fn worst_off(off: &Values) -> f64 {
    off.iter().fold(0.0, |worst: f64, off| worst.max(off.abs()))
}

/// Of all moves that change the measures by `off`, to first order, those that cost least.
fn least_costly(slopes: &Slopes, off: &Values) -> Option<Moves> {
    let rows: [[f64; COUNT + 1]; COUNT] = std::array::from_fn(|a| {
        std::array::from_fn(|b| {
            if b == COUNT {
                return off[a];
            }
            let both: f64 = slopes[a].iter().zip(&slopes[b]).map(|(a, b)| a * b).sum();
            // A measure that is not asked for has no slopes, and nothing to make up.
            if a == b && both == 0.0 { 1.0 } else { both }
        })
    });
    let share = solved(rows)?;
    Some(std::array::from_fn(|j| {
        COSTS[j] * (0..COUNT).map(|k| slopes[k][j] * share[k]).sum::<f64>()
    }))
}

/// The measure furthest from what was asked, and the one that stands against it.
fn not_met(asked: &[Option<f64>; COUNT], has: &Values) -> TapeError {
    let lacking = off(asked, has).map(f64::abs);
    let worst = (0..COUNT).max_by(|a, b| lacking[*a].total_cmp(&lacking[*b])).unwrap_or(0);
    let (name, other) = NAMES[worst];
    TapeError::NotMet {
        name: name.into(),
        asked: asked[worst].unwrap_or(0.0),
        nearest: has[worst],
        other: NAMES[other].0.into(),
        of_other: has[other],
    }
}

fn finished(entered: &TapeMeasures, last: Last, has: &Values) -> Taped {
    let last = if entered.foot == Foot::Left { last.mirrored() } else { last };
    let measures = measure(&last, &last.mesh, None).value;
    let met = told(entered, has, measures.heel_height);
    Taped { last, measures, met }
}

/// In the order of the sheet.
fn told(entered: &TapeMeasures, has: &Values, heel_height: f64) -> Vec<Met> {
    let e = entered;
    let written = [
        e.length,
        e.seat_width,
        e.tread_width,
        e.ball_girth,
        e.waist_girth,
        e.instep_girth,
        e.long_heel_girth,
        e.short_heel_girth,
        e.toe_spring,
    ];
    let of = |k: usize| Met { name: NAMES[k].0.into(), entered: written[k], has: has[k] };
    let mut met: Vec<Met> = [0, 3, 4, 5, 6, 7, 1, 2, 8].map(of).into();
    let heel = Met { name: "heel height".into(), entered: e.heel_height, has: heel_height };
    met.insert(8, heel);
    for ((height, forward), has) in e.back_curve.iter().zip(&has[9..]) {
        let name = format!("back {height} mm up");
        met.push(Met { name, entered: Some(*forward), has: *has });
    }
    met
}
