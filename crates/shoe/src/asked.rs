//! Everything that a user can decide: what was entered, what counts now, and why.

use serde::Serialize;
use serde_json::{Value, json};

use crate::draft::Drafted;
use crate::foot::Side;
use crate::job::{Holding, JobFolder, keys};
use crate::last::grade::Follow;
use crate::last::stand::Last;
use crate::reasons::Mark;
use crate::stiffener::brief::Brief;
use crate::stiffener::heights;
use crate::stiffener::margin::Widths;

/// One thing that can be decided.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Its key in `job.toml`.
    pub key: &'static str,
    /// What it may hold.
    pub holds: Holding,
    /// What the user entered; null where nothing was.
    pub entered: Value,
    /// What counts: entered, found, or by rule. Null where that is not known.
    pub counts: Value,
    /// How the number comes about.
    pub formula: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// How well founded it is.
    pub mark: Option<Mark>,
}

/// All entries of a job in the order of its file; with what was found on the `last` and `drafted`,
/// where that was done.
pub fn entries(job: &JobFolder, last: Option<&Last>, drafted: Option<&Drafted>) -> Vec<Entry> {
    let brief = job.job().brief();
    let all = keys().map(|(key, holds)| {
        let entered = job.value_of(key);
        let counts =
            if entered.is_null() { counts(key, &brief, last, drafted) } else { entered.clone() };
        let told = dimension_of(key).and_then(|name| {
            let dimensions = &drafted?.report.dimensions;
            dimensions.iter().find(|d| d.name == name)
        });
        let mark = if entered.is_null() { told.map(|d| d.mark) } else { Some(Mark::Own) };
        Entry {
            key,
            holds,
            mark,
            formula: told.map(|d| d.formula.clone()),
            reason: told.map(|d| d.reason.clone()),
            entered,
            counts,
        }
    });
    all.collect()
}

/// What counts where nothing was entered.
fn counts(key: &str, brief: &Brief, last: Option<&Last>, drafted: Option<&Drafted>) -> Value {
    if let Some(rest) = key.strip_prefix("stiffener.medial.") {
        return wing(rest, brief, Side::Medial, drafted);
    }
    if let Some(rest) = key.strip_prefix("stiffener.lateral.") {
        return wing(rest, brief, Side::Lateral, drafted);
    }
    match key {
        "note" => json!(""),
        "last.unit" => last.map_or(Value::Null, |last| json!(last.unit)),
        "last.foot" => last.map_or(Value::Null, |last| json!(last.foot)),
        "last.heel_height" => last.map_or(Value::Null, |last| json!(last.heel_height)),
        "stiffener.construction" => json!(brief.construction),
        "stiffener.kind" => json!(brief.kind),
        "stiffener.insole_on_last" => json!(brief.insole_on_last),
        "stiffener.insole_thickness" => json!(brief.insole),
        "stiffener.lining_thickness" => json!(brief.lining),
        "stiffener.thickness" => json!(brief.thickness),
        "stiffener.settling" => json!(brief.settling),
        "stiffener.back_height" => {
            let by_rule = heights::back_height(brief.standard_last_length) + brief.settling;
            json!(drafted.map_or(by_rule, |d| d.stiffener.edge.back_height))
        }
        "stiffener.below_topline" => json!(brief.below_topline),
        "stiffener.margin" => json!(Widths::by_rule(brief).net),
        "stiffener.face" => json!(brief.face),
        "stiffener.wall_cuts" => json!(brief.wall_cuts),
        "stiffener.wall_cut_depth" => json!(brief.wall_cut_depth),
        "wearer.ankle_drop" => json!(brief.ankle_drop),
        "wearer.feather_height" => {
            let sides = drafted.map(|d| d.report.ankles.sides.as_slice()).unwrap_or_default();
            sides.last().map_or(Value::Null, |side| json!(side.feather_height))
        }
        "range.heel_height" | "range.toe_spring" | "range.top" => json!(Follow::default()),
        _ => Value::Null,
    }
}

fn wing(key: &str, brief: &Brief, side: Side, drafted: Option<&Drafted>) -> Value {
    let wing = brief.wing(side);
    match key {
        "length" => json!(wing.length),
        "behind_joint" => json!(wing.behind_joint),
        "end_height" => json!(wing.end_height),
        "ceiling" => {
            let ceilings = drafted.map(|d| &d.stiffener.edge.ceilings);
            let drawn = ceilings.and_then(|all| all.iter().find(|c| c.side == Some(side)));
            // No rule covers a child's ankles.
            let by_rule =
                (!brief.child).then(|| heights::ankle_ceiling(side, brief.standard_last_length));
            json!(drawn.map(|c| c.height).or(by_rule))
        }
        _ => Value::Null,
    }
}

/// The dimension of the report that tells why a number is what it is.
fn dimension_of(key: &str) -> Option<&'static str> {
    Some(match key {
        "last.size" => "standard last length",
        "stiffener.back_height" => "back height",
        "stiffener.margin" => "lasting margin, net",
        "stiffener.insole_thickness" => "insole edge below the feather line",
        "stiffener.lining_thickness" => "lining thickness",
        "stiffener.thickness" => "stiffener thickness",
        "stiffener.medial.ceiling" => "ceiling under the inside ankle",
        "stiffener.lateral.ceiling" => "ceiling under the outside ankle",
        "stiffener.medial.end_height" => "inside wing, height at the end",
        "stiffener.lateral.end_height" => "outside wing, height at the end",
        "stiffener.medial.behind_joint" | "stiffener.medial.length" => {
            "inside wing ends, along the axis"
        }
        "stiffener.lateral.behind_joint" | "stiffener.lateral.length" => {
            "outside wing ends, along the axis"
        }
        "marks.ankle_medial" => "inside ankle, along the axis",
        "marks.ankle_lateral" => "outside ankle, along the axis",
        _ => return None,
    })
}
