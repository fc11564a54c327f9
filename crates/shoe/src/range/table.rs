//! The grade table: each dimension by size, its step, and where a rule holds it.

use serde::Serialize;

use super::{Piece, Wanted};
use crate::foot::Foot;
use crate::reasons::Mark;
use crate::size::fitting::Fitting;
use crate::stiffener::heights;

/// A step that differs from the usual one by more than this is uneven, mm: what a ruler shows.
const UNEVEN: f64 = 0.25;
/// Long lines step by much: a step is uneven only beyond this share of the usual one.
const UNEVEN_SHARE: f64 = 0.06;
/// Two feet that differ by less than this are told as one, mm: what drawing them apart may do.
const ALIKE: f64 = 0.15;

/// Every dimension of one foot through the sizes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GradeTable {
    /// The foot.
    pub foot: Foot,
    /// The fitting, where one was asked for.
    pub fitting: Option<String>,
    /// The sizes, ascending, as they are written.
    pub sizes: Vec<String>,
    /// One row a dimension.
    pub rows: Vec<GradeRow>,
}

/// One dimension through the sizes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GradeRow {
    /// Which.
    pub name: String,
    /// `mm` or `count`.
    pub unit: String,
    /// The middle of all steps from size to size; none for a single size.
    pub usual_step: Option<f64>,
    /// The value in each size.
    pub values: Vec<GradeValue>,
}

/// One dimension in one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GradeValue {
    /// The value.
    pub value: f64,
    /// What it gained over the size before.
    pub step: Option<f64>,
    /// Why it does not step as usual, where it does not.
    pub held: Option<String>,
}

impl GradeTable {
    /// A table for each foot and fitting among `pieces`, whose sizes ascend.
    pub fn all(pieces: &[Piece]) -> Vec<Self> {
        let mut kinds: Vec<(Foot, Option<Fitting>)> = Vec::new();
        for Wanted { foot, fitting, .. } in pieces.iter().map(|p| p.wanted) {
            if !kinds.contains(&(foot, fitting)) {
                kinds.push((foot, fitting));
            }
        }
        kinds.into_iter().map(|(foot, fitting)| Self::of(pieces, foot, fitting)).collect()
    }

    fn of(pieces: &[Piece], foot: Foot, fitting: Option<Fitting>) -> Self {
        let is_of_it = |p: &&Piece| (p.wanted.foot, p.wanted.fitting) == (foot, fitting);
        let pieces: Vec<&Piece> = pieces.iter().filter(is_of_it).collect();
        let mut rows: Vec<GradeRow> = Vec::new();
        if let Some(first) = pieces.first() {
            for dimension in &first.drafted.report.dimensions {
                let of = |piece: &&Piece| {
                    let all = &piece.drafted.report.dimensions;
                    all.iter().find(|d| d.name == dimension.name).map(|d| d.value)
                };
                let values: Vec<f64> = pieces.iter().filter_map(of).collect();
                // A dimension that not every size has is no row.
                if values.len() == pieces.len() {
                    rows.push(row(&dimension.name, &dimension.unit, &values, &pieces));
                }
            }
        }
        let sizes = pieces.iter().map(|p| p.served_in_words()).collect();
        Self { foot, fitting: fitting.map(|f| f.to_string()), sizes, rows }
    }

    /// Whether the other foot's table says the same.
    pub fn agrees(&self, other: &GradeTable) -> bool {
        self.sizes == other.sizes
            && self.fitting == other.fitting
            && self.rows.len() == other.rows.len()
            && self.rows.iter().zip(&other.rows).all(|(a, b)| {
                let close = |(a, b): (&GradeValue, &GradeValue)| (a.value - b.value).abs() < ALIKE;
                a.name == b.name && a.values.iter().zip(&b.values).all(close)
            })
    }
}

fn row(name: &str, unit: &str, values: &[f64], pieces: &[&Piece]) -> GradeRow {
    let steps: Vec<f64> = values.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mut sorted = steps.clone();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted.get(sorted.len() / 2).copied();
    let values = values
        .iter()
        .enumerate()
        .map(|(i, value)| {
            let step = i.checked_sub(1).map(|before| steps[before]);
            let uneven = step
                .zip(usual)
                .is_some_and(|(s, u)| (s - u).abs() > UNEVEN.max(UNEVEN_SHARE * u.abs()));
            let held = ceiling_held(name, pieces[i]).or_else(|| {
                (uneven && unit == "mm").then(|| "an uneven step: compare the sizes".to_owned())
            });
            GradeValue { value: *value, step, held }
        })
        .collect();
    GradeRow { name: name.into(), unit: unit.into(), usual_step: usual, values }
}

/// Where the rule for an ankle ceiling no longer rises with the size.
fn ceiling_held(name: &str, piece: &Piece) -> Option<String> {
    let length = piece.drafted.stiffener.brief.standard_last_length;
    let ruled = piece
        .drafted
        .stiffener
        .edge
        .ceilings
        .iter()
        .any(|c| c.name == name && c.side.is_some() && c.mark != Mark::Own);
    if !ruled {
        return None;
    }
    let (least, most) = heights::ADULT_RANGE;
    if length > most + 1e-6 {
        Some(format!("the rule stays level above a standard last length of {most} mm"))
    } else if length < least - 1e-6 {
        Some(format!("below a standard last length of {least} mm the rule falls in proportion"))
    } else {
        None
    }
}
