//! What is said about a drafted job, for people's programs to read: `report.json`.

use flatten::cuts::Judged;
use serde::Serialize;

use crate::cautions::cautions;
use crate::reasons::{Check, Dimension, Verdict};
use crate::stiffener::ankles::Ankles;
use crate::stiffener::wall_cuts::WallCut;
use crate::stiffener::{Stiffener, measure, wall_cuts};

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
    /// How many people's ankles the edge would reach, by survey.
    pub ankles: Ankles,
    /// How the flat piece distorts on the last.
    pub strain: StrainSummary,
    /// What cuts in the wall gain; only where they were allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall_cuts: Option<CutsTold>,
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

/// The wall without cuts and with them, side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutsTold {
    /// The most cuts that were allowed.
    pub allowed: usize,
    /// How far up they were allowed to reach, mm.
    pub depth_allowed: f64,
    /// Whose limits the strain is held against.
    pub material: String,
    /// Its limits, percent.
    pub stretch_limit: f64,
    /// As above.
    pub compress_limit: f64,
    /// Whether at most 6 % of the area is beyond the limits, and 99 % of it within 2.5 times them.
    pub limits_met: bool,
    /// The strain of the wall without any cut.
    pub without: CutStrain,
    /// The strain of the piece.
    pub with: CutStrain,
    /// The cuts, from left to right.
    pub cuts: Vec<CutTold>,
}

/// Strain without or with cuts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CutStrain {
    /// Percent of the area beyond the limits of the material.
    pub area_over_limit: f64,
    /// 99 % of the area is strained no more than so many times the limits.
    pub p99_times_limit: f64,
    /// Mean, %.
    pub mean: f64,
    /// 95th percentile, %.
    pub p95: f64,
    /// 99th percentile, %.
    pub p99: f64,
}

/// One cut in the wall, mm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutTold {
    /// `inside` or `outside`.
    pub side: String,
    /// From the seat along the feather line, on the bare last.
    pub along: f64,
    /// Up from the feather line to the point, along the longer side, on the flat piece.
    pub depth: f64,
    /// The same over the bare last.
    pub depth_on_last: f64,
    /// How wide the V is at the feather line, on the flat piece.
    pub opening: f64,
}

impl CutsTold {
    fn of(piece: &Stiffener) -> Option<Self> {
        let gain = piece.wall_cuts.as_ref()?;
        let strain = |judged: &Judged, [mean, p95]: [f64; 2]| CutStrain {
            area_over_limit: judged.area_over,
            p99_times_limit: judged.times,
            mean,
            p95,
            p99: judged.p99,
        };
        let told = |cut: &WallCut| CutTold {
            side: cut.side.to_string(),
            along: cut.along,
            depth: cut.depth(),
            depth_on_last: cut.on_last,
            opening: cut.opening(),
        };
        Some(Self {
            allowed: piece.brief.wall_cuts,
            depth_allowed: piece.brief.wall_cut_depth,
            material: gain.material.name.clone(),
            stretch_limit: gain.material.stretch,
            compress_limit: gain.material.compress,
            limits_met: gain.met,
            without: strain(&gain.without, gain.strain[0]),
            with: strain(&gain.with, gain.strain[1]),
            cuts: wall_cuts::measured(piece).iter().map(told).collect(),
        })
    }
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
        ankles: Ankles,
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
            ankles,
            strain: StrainSummary {
                mean: strain.mean,
                p95: strain.p95,
                p99: strain.p99,
                area_over_limit: piece.brief.kind.material().map(|m| piece.wall.area_beyond(&m)),
            },
            wall_cuts: CutsTold::of(piece),
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
