//! What the top edge may not pass, sampled along the feather line, and which limits conflict.

use super::brief::Brief;
use super::chart::{Chart, ChartError};
use super::heights;
use crate::foot::Side;
use crate::last::marks::Marks;
use crate::reasons::Mark;

/// How far along the axis, to either side of the ankle, its ceiling acts, mm. Common practice,
/// no source.
pub const ANKLE_REACH: f64 = 18.0;

/// The edge is drawn this far under a ceiling or more, mm. Common practice, no source.
pub const CLEARANCE: f64 = 1.0;

/// More room under a ceiling than [`CLEARANCE`], mm: what drawing and measuring may lose.
const DRAWING_LOSS: f64 = 0.2;

/// The ceiling is held this much beyond its reach, mm, since the edge leans over the place on
/// the feather line it was measured from.
const LEAN: f64 = 1.5;

/// Places on the last that the stiffener's rules speak of, mm along the axis from the seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landmarks {
    /// The inside and outside ankle.
    pub ankle: (f64, f64),
    /// The inside and outside joint.
    pub joint: (f64, f64),
    /// The heel breast.
    pub breast: f64,
}

impl Landmarks {
    /// Those of a standing last.
    pub fn of(marks: &Marks) -> Self {
        Self {
            ankle: (marks.ankle_medial_x.at, marks.ankle_lateral_x.at),
            joint: (marks.joint_medial.at.x, marks.joint_lateral.at.x),
            breast: marks.breast.at,
        }
    }

    /// Where the ankle of one side lies.
    pub fn ankle(&self, side: Side) -> f64 {
        by_side(self.ankle, side)
    }

    /// Where the joint of one side lies.
    pub fn joint(&self, side: Side) -> f64 {
        by_side(self.joint, side)
    }
}

fn by_side(pair: (f64, f64), side: Side) -> f64 {
    match side {
        Side::Medial => pair.0,
        Side::Lateral => pair.1,
    }
}

/// One thing that limits the top edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Ceiling {
    /// What it is, such as `ceiling under the outside ankle`.
    pub name: String,
    /// The keys in `job.toml` of what sets it, from the back forward.
    pub keys: Vec<String>,
    /// The side it acts on; none for the topline.
    pub side: Option<Side>,
    /// The height itself at its lowest, mm above the feather line.
    pub height: f64,
    /// How it was computed.
    pub formula: String,
    /// Why.
    pub reason: String,
    /// How well founded it is.
    pub mark: Mark,
    /// How far below the height the edge is drawn, mm.
    pub below: f64,
    /// What the drawn edge may not pass, mm, at each sample; infinite where it does not act.
    pub drawn: Vec<f64>,
    /// Where it begins and ends to act between samples, mm along the feather line, and what the
    /// drawn edge may not pass there, mm. Without them the edge would leap when a sample more comes
    /// under it.
    pub borders: Vec<(f64, f64)>,
}

impl Ceiling {
    /// The ceiling with its height, and what is taken off it where the edge is drawn.
    pub(super) fn in_words(&self, sample: usize) -> String {
        let off = match self.side {
            Some(_) => format!("less {:.1} mm to stay clear of it", self.below),
            None => format!("less {:.1} mm to stay below it", self.below),
        };
        let height = self.drawn[sample] + self.below;
        format!("{} {height:.1} mm, {off},", self.name)
    }
}

/// Why there is no ceiling.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// A place could not be found on the wall.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// No rule and no survey covers a child's ankles.
    #[error(
        "size {size} is a child's: no rule and no survey says how high its ankles lie. Measure both ankles on the child and enter their heights (wearer.ankle_medial, wearer.ankle_lateral); that of the {side} ankle is missing"
    )]
    ChildAnkle {
        /// The size.
        size: String,
        /// The side that is missing.
        side: Side,
    },
}

/// The ceilings over `samples` (places along the feather line, mm).
///
/// # Errors
/// For a child's size without ankle heights, and where the last is too low to measure on.
pub fn ceilings(
    chart: &Chart<'_, '_>,
    brief: &Brief,
    marks: &Landmarks,
    samples: &[f64],
) -> Result<Vec<Ceiling>, LimitError> {
    let mut all = Vec::new();
    for side in Side::BOTH {
        all.push(under_ankle(chart, brief, marks, samples, side)?);
    }
    if !brief.topline.is_empty() {
        all.push(under_topline(chart, brief, samples));
    }
    Ok(all)
}

fn under_ankle(
    chart: &Chart<'_, '_>,
    brief: &Brief,
    marks: &Landmarks,
    samples: &[f64],
    side: Side,
) -> Result<Ceiling, LimitError> {
    let wing = brief.wing(side);
    let (height, formula, reason, mark) = if let Some(height) = wing.wearer_ankle {
        (
            height,
            "the wearer's own ankle height".into(),
            "measured on the wearer; it wins over any rule of thumb",
            Mark::Own,
        )
    } else if let Some(height) = wing.ceiling {
        (height, "entered".into(), "entered in the job", Mark::Own)
    } else if brief.child {
        return Err(LimitError::ChildAnkle { size: brief.size.clone(), side });
    } else {
        let (low, high) = match side {
            Side::Lateral => ("40", "45"),
            Side::Medial => ("46.5", "50"),
        };
        let length = brief.standard_last_length;
        let formula = if length < 240.0 {
            format!("{low} x standard last length / 240 (our extension below 240)")
        } else {
            format!("{low} mm at standard last length 240 to {high} mm at 300 and above")
        };
        let reason = match side {
            Side::Lateral => {
                "above it the edge can meet the ankle bone; held against ANSUR II (6,068 adults): none had the outer ankle point at or below it, its lower border was not measured"
            }
            Side::Medial => {
                "above it the edge can meet the ankle bone; no survey of women's inner ankles was found"
            }
        };
        (heights::ankle_ceiling(side, length), formula, reason, Mark::CommonPractice)
    };
    let ankle = marks.ankle(side);
    let zero = zero(brief);
    // How far outside its reach each sample lies; negative within.
    let mut outside = vec![f64::INFINITY; samples.len()];
    for (outside, along) in outside.iter_mut().zip(samples) {
        let feather_x = chart.feather(*along).x;
        let other_side = along * chart.sign(side) < 0.0;
        // The wall leans: only places near the ankle need the edge's own x looked up.
        if other_side || (feather_x - ankle).abs() > 2.0 * ANKLE_REACH {
            continue;
        }
        let edge = chart.point(*along, height + zero)?.position(chart.surface().mesh);
        *outside = (feather_x - ankle).abs().min((edge.x - ankle).abs()) - ANKLE_REACH - LEAN;
    }
    let limit = height - CLEARANCE - DRAWING_LOSS;
    let drawn = outside.iter().map(|d| if *d <= 0.0 { limit } else { f64::INFINITY }).collect();
    let crossed = outside
        .windows(2)
        .zip(samples.windows(2))
        .filter(|(d, _)| (d[0] <= 0.0) != (d[1] <= 0.0) && d[0].is_finite() && d[1].is_finite());
    let borders = crossed.map(|(d, s)| (s[0] + (s[1] - s[0]) * d[0] / (d[0] - d[1]), limit));
    let borders = borders.collect();
    let name = format!("ceiling under the {side} ankle");
    let key = match wing.wearer_ankle {
        Some(_) => format!("wearer.ankle_{}", side.key()),
        None => format!("stiffener.{}.ceiling", side.key()),
    };
    let below = CLEARANCE + DRAWING_LOSS;
    Ok(Ceiling {
        name,
        keys: vec![key],
        side: Some(side),
        below,
        height,
        formula,
        reason: reason.into(),
        mark,
        drawn,
        borders,
    })
}

fn under_topline(chart: &Chart<'_, '_>, brief: &Brief, samples: &[f64]) -> Ceiling {
    let right = chart.foot().right_side();
    let drawn: Vec<f64> = samples
        .iter()
        .map(|along| {
            let on_right = *along >= 0.0;
            let medial = on_right == (right == Side::Medial);
            topline_height(brief, chart.feather(*along).x.max(0.0), medial) - brief.below_topline
        })
        .collect();
    let height = drawn.iter().fold(f64::INFINITY, |a, b| a.min(*b)) + brief.below_topline;
    Ceiling {
        name: "topline".into(),
        keys: topline_keys(brief),
        side: None,
        below: brief.below_topline,
        height,
        formula: format!("topline less {:.1} mm", brief.below_topline),
        reason: "a stiffener that reaches the topline shows and rubs".into(),
        mark: Mark::CommonPractice,
        drawn,
        borders: Vec::new(),
    }
}

/// What was entered of the topline: at the back, along the sides, or both.
fn topline_keys(brief: &Brief) -> Vec<String> {
    let entered = |back: bool| brief.topline.iter().any(|t| (t.along == 0.0) == back);
    let keys = [("topline.back", entered(true)), ("topline.heights", entered(false))];
    keys.iter().filter(|(_, entered)| *entered).map(|(key, _)| (*key).into()).collect()
}

/// The topline `x` mm forward of the seat: straight between the heights given, level beyond.
fn topline_height(brief: &Brief, x: f64, medial: bool) -> f64 {
    let height = |i: usize| if medial { brief.topline[i].medial } else { brief.topline[i].lateral };
    let after = brief.topline.partition_point(|t| t.along <= x);
    match (after.checked_sub(1), after < brief.topline.len()) {
        (None, _) => height(0),
        (Some(i), false) => height(i),
        (Some(i), true) => {
            let (a, b) = (brief.topline[i].along, brief.topline[i + 1].along);
            height(i) + (height(i + 1) - height(i)) * (x - a) / (b - a)
        }
    }
}

/// How far the true feather line lies above the edge found on the mesh, mm: the insole's
/// thickness where the insole was on the last when it was scanned.
pub fn zero(brief: &Brief) -> f64 {
    if brief.insole_on_last { brief.insole } else { 0.0 }
}
