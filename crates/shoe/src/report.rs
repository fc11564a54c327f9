//! What is said about a drafted job, for people's programs to read: `report.json`.

use serde::Serialize;

use crate::cautions::cautions;
use crate::reasons::{Check, Dimension, Verdict};
use crate::stiffener::{Stiffener, measure};

/// The report. Field names are part of the file's format.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// Version of this report's layout.
    pub schema: u32,
    /// The job's name.
    pub job: String,
    /// The size as entered.
    pub size: String,
    /// The foot.
    pub foot: String,
    /// Every dimension of every part.
    pub dimensions: Vec<Dimension>,
    /// Every check.
    pub checks: Vec<Check>,
    /// How the flat piece distorts on the last.
    pub strain: StrainSummary,
    /// The triangles on which the piece was laid flat.
    pub triangles: Triangles,
    /// What the user should beware of.
    pub cautions: Vec<String>,
    /// What was noticed on the way.
    pub warnings: Vec<Notice>,
    /// What was found on the last by the program, and how sure it is.
    pub found: Vec<Found>,
}

/// Strain of the flat piece, percent. Mean: area-weighted mean of |s - 1| over both singular
/// values of the map from where the piece lies to the flat piece; percentiles: area-weighted
/// over triangles of the larger of the two.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StrainSummary {
    /// Mean, %.
    pub mean: f64,
    /// 95th percentile, %.
    pub p95: f64,
    /// 99th percentile, %.
    pub p99: f64,
    /// Of the area, stretched or compressed beyond the limits of the material, %; null where none
    /// is cut from a sheet.
    pub area_over_limit: Option<f64>,
}

/// The stiffener's own triangles: even, and without the scan's roughness.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Triangles {
    /// How many.
    pub count: usize,
    /// The most by which they lie from the scan, to either side, mm.
    pub off_scan: f64,
}

/// A warning in the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Notice {
    /// Where.
    pub place: String,
    /// What.
    pub message: String,
    /// What to do.
    pub hint: String,
}

/// Something the program found on the last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Found {
    /// How sure the program is, 0 to 1.
    pub sureness: f64,
    /// In words.
    pub words: String,
}

impl Report {
    /// The report on one stiffener.
    pub fn new(
        job: &str,
        piece: &Stiffener,
        checks: Vec<Check>,
        warnings: Vec<Notice>,
        found: Vec<Found>,
    ) -> Self {
        let strain = &piece.wall.strain;
        Self {
            schema: 1,
            job: job.into(),
            size: piece.brief.size.clone(),
            foot: piece.foot.to_string(),
            dimensions: measure::dimensions(piece),
            checks,
            strain: StrainSummary {
                mean: strain.mean,
                p95: strain.p95,
                p99: strain.p99,
                area_over_limit: piece.brief.kind.material().map(|m| piece.wall.area_beyond(&m)),
            },
            triangles: Triangles {
                count: piece.wall.on_last.triangles.len(),
                off_scan: piece.wall.off_scan,
            },
            cautions: cautions(&piece.brief),
            warnings,
            found,
        }
    }

    /// Whether any check failed.
    pub fn failed(&self) -> bool {
        self.checks.iter().any(|c| c.verdict == Verdict::Fail)
    }
}
