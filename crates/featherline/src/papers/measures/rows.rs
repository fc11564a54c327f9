//! Every measure in one line: name, value, how it was taken, how sure it is.

use shoe::last::feather::EdgeKind;
use shoe::last::marks::{Found, Source};
use shoe::last::stand::Last;

use crate::commands::measure::Measured;

/// One measure for people.
pub(super) struct Row {
    pub(super) name: String,
    pub(super) value: String,
    pub(super) how: String,
    /// 0 to 1; `None` where the user set it and nothing was guessed.
    pub(super) sureness: Option<f64>,
}

/// All measures in the order in which they are taken.
pub(super) fn rows(measured: &Measured) -> Vec<Row> {
    let (last, m) = (&measured.last, &measured.measures);
    let sureness = m.sureness(last);
    let sure = |key: &str| sureness.iter().find(|(name, _)| *name == key).map(|(_, sure)| *sure);
    let mm = |value: f64| format!("{value:.1} mm");
    let row = |name: &str, value: f64, how: String, key: &str| Row {
        name: name.into(),
        value: mm(value),
        how,
        sureness: sure(key),
    };
    let mut rows = vec![
        Row {
            name: "foot".into(),
            value: last.foot.to_string(),
            how: match last.foot_source {
                Source::User => "as given".into(),
                Source::Found => "by the shape".into(),
            },
            sureness: found(last, |f| matches!(f, Found::Foot(_))),
        },
        Row {
            name: "size".into(),
            value: m.sizes.words(),
            how: format!("standard last length {:.1} mm", m.standard_last_length),
            sureness: sure("standard_last_length"),
        },
        row("length", m.length, "rearmost to foremost point, along the axis".into(), "length"),
        row("width", m.width, "across, square to the axis".into(), "width"),
        row("height", m.height, "lowest to highest point, upright".into(), "height"),
        row("heel height", m.heel_height, heel_how(last), "heel_height"),
        row(
            "toe spring",
            m.toe_spring,
            "foremost point of the feather line above the ground".into(),
            "toe_spring",
        ),
        row("seat width", m.seat_width, "feather line, rear 30 %".into(), "seat_width"),
        row("tread width", m.tread_width, "feather line, front half".into(), "tread_width"),
    ];
    for (name, girth) in m.girths.named() {
        let mut how = name.how().to_owned();
        let lean = girth.plane.normal.z.atan2(girth.plane.normal.truncate().length());
        match lean.to_degrees().round() {
            0.0 => {}
            d if d < 0.0 => how += &format!("; lower part {:.0}° back", -d),
            d => how += &format!("; upper part {d:.0}° back"),
        }
        if girth.over_top {
            how += "; bridges the top";
        }
        rows.push(row(name.words(), girth.length, how, name.key()));
    }
    rows.push(row(
        "length round heel",
        m.round_heel.length,
        "feather line, from 15 mm behind one joint to 15 mm behind the other".into(),
        "length_round_heel",
    ));
    rows.push(Row {
        name: "joints".into(),
        value: format!("{:.1} % and {:.1} %", 100.0 * m.joint_shares.0, 100.0 * m.joint_shares.1),
        how: "inside and outside, from the rearmost point, as shares of the length".into(),
        sureness: found(last, |f| matches!(f, Found::JointMedial | Found::JointLateral)),
    });
    let curve: Vec<String> = m
        .back_curve
        .iter()
        .map(|p| format!("{:.0}: {:.1}", p.height, without_sign_of_nothing(p.set_back)))
        .collect();
    if !curve.is_empty() {
        rows.push(Row {
            name: "back curve".into(),
            value: format!("{} heights", curve.len()),
            how: format!("height above the seat: how far in front of it, mm: {}", curve.join(", ")),
            sureness: sure("back_curve"),
        });
    }
    rows
}

/// The least sureness of what was found of this kind; `None` where nothing was.
pub(super) fn found(last: &Last, of: impl Fn(&Found) -> bool) -> Option<f64> {
    last.found.iter().filter(|f| of(&f.what)).map(|f| f.sureness).reduce(f64::min)
}

fn heel_how(last: &Last) -> String {
    let what = match last.marks.feather_line.edge {
        EdgeKind::Absent => "lowest point of the heel above the ground",
        _ => "seat point above the ground",
    };
    match found(last, |f| matches!(f, Found::HeelHeight(_))) {
        None => format!("{what}, as given"),
        Some(_) => what.into(),
    }
}

/// What would be printed as -0.0 is printed as 0.0.
fn without_sign_of_nothing(value: f64) -> f64 {
    if value.abs() < 0.05 { 0.0 } else { value }
}

/// How sure, in words.
pub(super) fn sure_words(sureness: Option<f64>) -> String {
    sureness.map_or("given".into(), |s| format!("{:.0} of 100", 100.0 * s))
}
