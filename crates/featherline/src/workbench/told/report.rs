//! Dimensions, checks and cautions of the piece, each check with its place.

use serde::Serialize;
use shoe::draft::Drafted;
use shoe::reasons::{Check, Dimension};
use shoe::report::StrainSummary;
use shoe::stiffener::chart::Chart;
use shoe::stiffener::on_show;

use super::{Notice, Vec2, Vec3, v2, v3};

#[derive(Debug, Clone, Serialize)]
pub(in crate::workbench) struct ReportTold {
    size: String,
    foot: String,
    dimensions: Vec<Dimension>,
    checks: Vec<CheckTold>,
    strain: StrainSummary,
    cautions: Vec<String>,
    warnings: Vec<Notice>,
}

#[derive(Debug, Clone, Serialize)]
struct CheckTold {
    #[serde(flatten)]
    check: Check,
    at: Option<Vec3>,
    flat: Option<Vec2>,
    entry: Option<String>,
}

/// Tells of a drafted piece.
pub(in crate::workbench) fn tell(chart: &Chart<'_, '_>, drafted: &Drafted) -> ReportTold {
    let report = &drafted.report;
    let checks = report.checks.iter().map(|check| {
        let place = on_show::place_of(chart, &drafted.stiffener, check);
        CheckTold {
            check: check.clone(),
            at: place.as_ref().and_then(|p| p.at).map(v3),
            flat: place.as_ref().and_then(|p| p.flat).map(v2),
            entry: place.and_then(|p| p.key),
        }
    });
    ReportTold {
        size: report.size.clone(),
        foot: report.foot.clone(),
        dimensions: report.dimensions.clone(),
        checks: checks.collect(),
        strain: report.strain,
        cautions: report.cautions.clone(),
        warnings: report.warnings.iter().map(Notice::from).collect(),
    }
}
