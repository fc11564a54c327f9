//! The measures as data for other programs: millimetres as plain numbers, last frame.

use std::collections::BTreeMap;

use glam::{DAffine3, DVec3};
use serde_json::{Value, json};
use shoe::last::feather::EdgeKind;
use shoe::last::marks::{Found, Source};
use shoe::last::stand::Last;

use crate::commands::measure::Measured;

/// Everything that was measured.
pub(crate) fn as_json(measured: &Measured) -> Value {
    let (last, m) = (&measured.last, &measured.measures);
    let girths = m.girths.named();
    let mut out = json!({
        "unit": last.unit,
        "foot": last.foot,
        "length": m.length,
        "width": m.width,
        "height": m.height,
        "heel_height": m.heel_height,
        "ground": last.ground,
        "toe_spring": m.toe_spring,
        "seat_width": m.seat_width,
        "tread_width": m.tread_width,
        "length_round_heel": m.round_heel.length,
        "length_round_heel_ends": {
            "medial": point(m.round_heel.medial),
            "lateral": point(m.round_heel.lateral),
        },
        "standard_last_length": m.standard_last_length,
        "size": {
            "given": m.sizes.given,
            "eu": m.sizes.eu,
            "uk": m.sizes.uk,
            "words": m.sizes.words(),
        },
        "joint_shares": { "medial": m.joint_shares.0, "lateral": m.joint_shares.1 },
        "triangles": measured.triangles,
        "watertight": measured.openings == 0,
        "openings": measured.openings,
        "last_from_file": rows_of(&last.last_from_file),
        "marks": marks(measured),
        "given_marks": given_marks(last),
        "feather_line": {
            "points": points(&last.marks.feather_line.points),
            "edge": match last.marks.feather_line.edge {
                EdgeKind::Sharp => "sharp",
                EdgeKind::Rounded => "rounded",
                EdgeKind::Absent => "absent",
            },
            "sureness": last.marks.feather_line.sureness,
        },
        "back_curve": m.back_curve.iter().map(|p| json!({
            "height": p.height,
            "set_back": p.set_back,
            "at": point(p.at),
        })).collect::<Vec<_>>(),
        "guessed": last.found.iter().map(|f| name(&f.what)).collect::<Vec<_>>(),
        "found": last.found.iter().map(|f| json!({
            "name": name(&f.what),
            "sureness": f.sureness,
            "words": f.sentence,
        })).collect::<Vec<_>>(),
        "confidence": confidence(measured),
        "repairs": measured.repairs.iter().map(|r| json!({
            "kind": r.kind,
            "count": r.count,
            "places": points(&r.places),
            "message": r.message,
            "hint": r.hint,
        })).collect::<Vec<_>>(),
        "warnings": measured.warnings.iter().map(|w| json!({
            "place": w.place,
            "message": w.message,
            "hint": w.hint,
        })).collect::<Vec<_>>(),
    });
    let mut planes = BTreeMap::new();
    for (girth_name, girth) in girths {
        out[girth_name.key()] = json!(girth.length);
        let short = girth_name.key().trim_end_matches("_girth");
        planes.insert(
            short,
            json!({
                "origin": point(girth.plane.origin),
                "normal": point(girth.plane.normal),
                "over_top": girth.over_top,
            }),
        );
    }
    out["planes"] = json!(planes);
    out
}

fn point(p: DVec3) -> [f64; 3] {
    p.to_array()
}

fn points(all: &[DVec3]) -> Vec<[f64; 3]> {
    all.iter().map(|p| p.to_array()).collect()
}

/// Rows of the 4 x 4 matrix.
fn rows_of(map: &DAffine3) -> [[f64; 4]; 4] {
    let (m, t) = (map.matrix3.transpose(), map.translation);
    let row = |r: DVec3, shift: f64| [r.x, r.y, r.z, shift];
    [row(m.x_axis, t.x), row(m.y_axis, t.y), row(m.z_axis, t.z), [0.0, 0.0, 0.0, 1.0]]
}

/// The marks by name.
pub(super) fn marks(measured: &Measured) -> BTreeMap<&'static str, [f64; 3]> {
    let marks = &measured.last.marks;
    let mut all = BTreeMap::from([
        ("seat", point(marks.seat.at)),
        ("toe", point(marks.toe.at)),
        ("joint_medial", point(marks.joint_medial.at)),
        ("joint_lateral", point(marks.joint_lateral.at)),
        ("vamp", point(marks.vamp.at)),
        ("waist", point(marks.waist.at)),
        ("instep", point(marks.instep.at)),
        ("top_front", point(marks.top_front.at)),
        ("top_back", point(marks.top_back.at)),
        ("centre_back_top", point(marks.centre_back_top.at)),
        ("breast", point(measured.measures.breast)),
    ]);
    all.extend(marks.ankle_medial.map(|p| ("ankle_medial", point(p))));
    all.extend(marks.ankle_lateral.map(|p| ("ankle_lateral", point(p))));
    all
}

/// The names of the marks that the user set.
fn given_marks(last: &Last) -> Vec<&'static str> {
    let marks = &last.marks;
    let all = [
        ("seat", marks.seat.source),
        ("toe", marks.toe.source),
        ("joint_medial", marks.joint_medial.source),
        ("joint_lateral", marks.joint_lateral.source),
        ("vamp", marks.vamp.source),
        ("waist", marks.waist.source),
        ("instep", marks.instep.source),
        ("top_front", marks.top_front.source),
        ("top_back", marks.top_back.source),
        ("centre_back_top", marks.centre_back_top.source),
        ("breast", marks.breast.source),
        ("feather_line", marks.feather_line.source),
    ];
    all.into_iter().filter(|(_, source)| *source == Source::User).map(|(name, _)| name).collect()
}

/// How sure everything is: what was found, the measures, and 1 for every mark that was given.
fn confidence(measured: &Measured) -> BTreeMap<&'static str, f64> {
    let last = &measured.last;
    let mut all: BTreeMap<_, _> = measured.measures.sureness(last).into_iter().collect();
    all.extend(last.found.iter().map(|f| (name(&f.what), f.sureness)));
    // What follows from the feather line alone has no finding of its own.
    let line = last.marks.feather_line.sureness;
    for (mark, source) in [("seat", last.marks.seat.source), ("toe", last.marks.toe.source)] {
        all.entry(mark).or_insert(if source == Source::User { 1.0 } else { line });
    }
    // The heel breast is a share of the standard length (a rule).
    let size = all.get("standard_last_length").copied().unwrap_or(1.0);
    let breast = if last.marks.breast.source == Source::User { 1.0 } else { 0.5 * size };
    all.insert("breast", breast);
    for mark in given_marks(last) {
        all.insert(mark, 1.0);
    }
    all
}

/// The name of something found.
fn name(what: &Found) -> &'static str {
    match what {
        Found::Unit(_) => "unit",
        Found::BottomSide => "bottom_side",
        Found::HeelEnd => "heel_end",
        Found::StandardLength(_) => "standard_last_length",
        Found::Foot(_) => "foot",
        Found::HeelHeight(_) => "heel_height",
        Found::FeatherLine => "feather_line",
        Found::JointMedial => "joint_medial",
        Found::JointLateral => "joint_lateral",
        Found::CentreBackTop => "centre_back_top",
        Found::Vamp => "vamp",
        Found::Waist => "waist",
        Found::Instep => "instep",
        Found::TopFront => "top_front",
        Found::TopBack => "top_back",
    }
}
