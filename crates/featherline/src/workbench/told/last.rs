//! The standing last: what was found, mended and marked.

use geometry::mesh::repair::Repair;
use geometry::warned::Warning;
use glam::DVec3;
use serde::Serialize;
use shoe::last::marks::{Found, Mark, Source};
use shoe::last::measure::Measures;
use shoe::last::stand::Last;

use super::{Notice, Vec3, v3};

#[derive(Debug, Clone, Serialize)]
pub(in crate::workbench) struct LastTold {
    unit: String,
    foot: String,
    length: f64,
    heel_height: f64,
    ground: f64,
    triangles: usize,
    mesh: String,
    last_from_file: [[f64; 4]; 4],
    found: Vec<FoundTold>,
    repairs: Vec<RepairTold>,
    warnings: Vec<Notice>,
    marks: Vec<MarkTold>,
    lines: Vec<LineTold>,
    measures: Vec<MeasureTold>,
}

#[derive(Debug, Clone, Serialize)]
struct FoundTold {
    sureness: f64,
    words: String,
}

#[derive(Debug, Clone, Serialize)]
struct RepairTold {
    message: String,
    hint: String,
    places: Vec<Vec3>,
}

#[derive(Debug, Clone, Serialize)]
struct MarkTold {
    key: &'static str,
    at: Vec3,
    by: &'static str,
    sureness: Option<f64>,
    words: Option<String>,
    live: bool,
}

#[derive(Debug, Clone, Serialize)]
pub(in crate::workbench) struct LineTold {
    name: &'static str,
    points: Vec<Vec3>,
    closed: bool,
}

#[derive(Debug, Clone, Serialize)]
struct MeasureTold {
    name: String,
    value: f64,
    unit: &'static str,
}

/// The marks that the piece follows while they are dragged: those its rules speak of.
const LIVE: [&str; 5] = [
    "marks.joint_medial",
    "marks.joint_lateral",
    "marks.ankle_medial",
    "marks.ankle_lateral",
    "marks.breast",
];

/// The marks that turn the last about while it stands as it was found.
pub(in crate::workbench) const TURNING: [&str; 3] =
    ["marks.seat", "marks.joint_medial", "marks.joint_lateral"];

/// Whether the piece follows a mark while it is dragged; `held` is a last that stands as the job says.
pub(in crate::workbench) fn follows(key: &str, held: bool) -> bool {
    LIVE.contains(&key) && (held || !TURNING.contains(&key))
}

/// Tells of a last, which is `held` where it stands as the job says. `mesh` names its meshes; `repairs` have their places in the file's coordinates.
pub(in crate::workbench) fn tell(
    last: &Last,
    mesh: String,
    triangles: usize,
    repairs: &[Repair],
    warnings: &[Warning],
    measures: &Measures,
    held: bool,
) -> LastTold {
    let (low, high) = last.mesh.bounds().unwrap_or_default();
    LastTold {
        unit: last.unit.to_string(),
        foot: last.foot.to_string(),
        length: high.x - low.x,
        heel_height: last.heel_height,
        ground: last.ground,
        triangles,
        mesh,
        last_from_file: rows(last),
        found: last
            .found
            .iter()
            .map(|f| FoundTold { sureness: f.sureness, words: f.sentence.clone() })
            .collect(),
        repairs: repairs
            .iter()
            .map(|repair| {
                let told = Warning::from(repair.clone());
                let places = repair.places.iter();
                let places = places.map(|p| v3(last.last_from_file.transform_point3(*p)));
                RepairTold { message: told.message, hint: told.hint, places: places.collect() }
            })
            .collect(),
        warnings: warnings.iter().map(Notice::from).collect(),
        marks: marks(last, held),
        lines: lines(last),
        measures: told_measures(measures),
    }
}

/// The rows of the matrix from the file's coordinates to the last frame.
pub(in crate::workbench) fn rows(last: &Last) -> [[f64; 4]; 4] {
    let (m, t) = (last.last_from_file.matrix3, last.last_from_file.translation);
    let row = |i: usize| [m.x_axis[i], m.y_axis[i], m.z_axis[i], t[i]];
    [row(0), row(1), row(2), [0.0, 0.0, 0.0, 1.0]]
}

/// Every mark with its key. Ankles and breast, of which rules know only how far forward they stand,
/// are shown on the surface there.
fn marks(last: &Last, held: bool) -> Vec<MarkTold> {
    let marks = &last.marks;
    let sure = |of: fn(&Found) -> bool| last.found.iter().find(|f| of(&f.what));
    let told = |key: &'static str, mark: Mark<DVec3>, of: fn(&Found) -> bool| {
        let finding = sure(of).filter(|_| mark.source == Source::Found);
        MarkTold {
            key,
            at: v3(mark.at),
            by: by(mark.source),
            sureness: finding.map(|f| f.sureness),
            words: finding.map(|f| f.sentence.clone()),
            live: follows(key, held),
        }
    };
    let ruled = |key: &'static str, at: DVec3, source: Source| MarkTold {
        key,
        at: v3(at),
        by: by(source),
        sureness: None,
        words: None,
        live: follows(key, held),
    };
    let ankle = |given: Option<DVec3>, x: Mark<f64>, inside: bool, height: f64| {
        given.unwrap_or_else(|| on_wall(last, x.at, inside, height))
    };
    // The heights are only where the mark is shown: how high an ankle lies, no last tells.
    let (inner, outer) = (0.18, 0.15);
    vec![
        told("marks.seat", marks.seat, |_| false),
        told("marks.joint_medial", marks.joint_medial, |f| matches!(f, Found::JointMedial)),
        told("marks.joint_lateral", marks.joint_lateral, |f| matches!(f, Found::JointLateral)),
        ruled(
            "marks.ankle_medial",
            ankle(marks.ankle_medial, marks.ankle_medial_x, true, inner),
            marks.ankle_medial_x.source,
        ),
        ruled(
            "marks.ankle_lateral",
            ankle(marks.ankle_lateral, marks.ankle_lateral_x, false, outer),
            marks.ankle_lateral_x.source,
        ),
        ruled("marks.breast", on_wall(last, marks.breast.at, false, 0.0), marks.breast.source),
        told("marks.centre_back_top", marks.centre_back_top, |f| matches!(f, Found::CentreBackTop)),
        told("marks.instep", marks.instep, |f| matches!(f, Found::Instep)),
        told("marks.waist", marks.waist, |f| matches!(f, Found::Waist)),
        told("marks.vamp", marks.vamp, |f| matches!(f, Found::Vamp)),
        told("marks.toe", marks.toe, |_| false),
        told("marks.top_front", marks.top_front, |f| matches!(f, Found::TopFront)),
        told("marks.top_back", marks.top_back, |f| matches!(f, Found::TopBack)),
    ]
}

const fn by(source: Source) -> &'static str {
    match source {
        Source::Found => "found",
        Source::User => "user",
    }
}

/// The vertex of the last nearest to a place on one side, `x` forward of the seat, at a share of the
/// standard length above the feather line.
fn on_wall(last: &Last, x: f64, inside: bool, height: f64) -> DVec3 {
    let left = inside == (last.foot == shoe::foot::Foot::Right);
    let line = &last.marks.feather_line.points;
    let on_side = line.iter().filter(|p| (p.y > 0.0) == left);
    let apart = |p: &&DVec3| (p.x - x).abs();
    let Some(foot) = on_side.min_by(|a, b| apart(a).total_cmp(&apart(b))) else {
        return DVec3::ZERO;
    };
    if height == 0.0 {
        return *foot;
    }
    let wanted = DVec3::new(x, foot.y, foot.z + height * last.standard_last_length);
    let near = |p: &&DVec3| p.distance_squared(wanted);
    last.mesh.positions.iter().min_by(|a, b| near(a).total_cmp(&near(b))).copied().unwrap_or(*foot)
}

/// Its feather line and its centre back.
pub(in crate::workbench) fn lines(last: &Last) -> Vec<LineTold> {
    let told = |name: &'static str, points: &[DVec3], closed: bool| LineTold {
        name,
        points: points.iter().copied().map(v3).collect(),
        closed,
    };
    vec![
        told("feather_line", &last.marks.feather_line.points, true),
        told("centre_back", &last.marks.centre_back, false),
    ]
}

fn told_measures(measures: &Measures) -> Vec<MeasureTold> {
    let mm = |name: &str, value: f64| MeasureTold { name: name.to_owned(), value, unit: "mm" };
    let mut all = vec![
        mm("length", measures.length),
        mm("width", measures.width),
        mm("heel height", measures.heel_height),
        mm("toe spring", measures.toe_spring),
        mm("seat width", measures.seat_width),
        mm("tread width", measures.tread_width),
    ];
    all.extend(measures.girths.named().map(|(name, girth)| mm(name.words(), girth.length)));
    all.push(mm("length round heel", measures.round_heel.length));
    all
}
