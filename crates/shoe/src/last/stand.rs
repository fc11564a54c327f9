//! Standing a scanned last on its heel height and finding its marks.

use glam::{DAffine3, DMat3, DVec3};

use geometry::mesh::TriMesh;
use geometry::section::Slicer;
use geometry::units::{Mm, Unit};
use geometry::warned::Warned;

use super::back::centre_back;
pub use super::error::StandError;
use super::feather::FeatherLine;
pub use super::given::Given;
use super::level::Known;
use super::marks::{Finding, Foot, Found, Mark, Marks, Source};
use super::pose::{Extents, rough_pose, span};
use super::settle::{by_found_line, by_given_line, from_seat_inside_first};
use super::{given, size, tell, upper};

/// Where the heel breast stands, in standard lengths from the seat (published: SLL / 4).
pub(super) const BREAST: f64 = 0.25;
/// Where the inside ankle stands, likewise (common practice, no source).
const ANKLE_MEDIAL: f64 = 0.28;
/// Where the outside ankle stands, likewise (common practice, no source).
const ANKLE_LATERAL: f64 = 0.22;

/// A last standing in its frame, with its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Last {
    /// The surface in the last frame, mm; vertices and triangles numbered as in the file.
    pub mesh: TriMesh,
    /// From the file's coordinates to the last frame, scale included.
    pub last_from_file: DAffine3,
    /// Which foot it is for.
    pub foot: Foot,
    /// Who said so.
    pub foot_source: Source,
    /// Which foot the surface shows, whatever was said, and how surely, 0 to 1.
    pub foot_by_shape: (Foot, f64),
    /// The unit of the file.
    pub unit: Unit,
    /// Standard last length, mm: from the size where one was given.
    pub standard_last_length: f64,
    /// Height of the seat point above the ground, mm. Where there is no edge (a foot), the
    /// height of the lowest point of the heel.
    pub heel_height: f64,
    /// Height of the ground in the last frame, mm (negative: it lies below the seat).
    pub ground: f64,
    /// The marks.
    pub marks: Marks,
    /// What was found rather than given, and how sure it is.
    pub found: Vec<Finding>,
}

/// Stands `mesh` (tidy: welded, outward, one body, possibly open at the top; in the file's
/// coordinates) in the last frame and finds its marks.
///
/// The frame: origin at the seat; seen from above, x runs through the middle between the two
/// joints; level across at seat and tread; on the heel height. Accuracy depends on the scan;
/// what was guessed is listed with how sure it is.
///
/// # Errors
/// When the mesh is no tidy surface, has not the size or the shape of a last, shows no line
/// between bottom and wall, or a given value cannot be used.
pub fn stand(mesh: &TriMesh, given: &Given) -> Result<Warned<Last>, StandError> {
    given::check(given)?;
    let mut warnings = Vec::new();
    let mut found = Vec::new();
    let extents = Extents::new(mesh).ok_or(StandError::Empty)?;
    let (scale, unit) = given::scale_and_unit(&extents, given, &mut found)?;
    size::check_proportions(&extents, scale)?;
    let volume = volume_about(mesh, extents.centre);
    if volume < 0.0 {
        return Err(StandError::InsideOut { volume });
    }
    if let Some(sll) = given.standard_last_length {
        tell::size(extents.sizes[0] * scale, sll.get(), &mut warnings);
    }

    let turned = match given.last_from_file {
        Some(pose) => pose.matrix3 * (1.0 / scale),
        None => first_pose(mesh, &extents, scale, &mut found)?,
    };
    let lying_from_file = DAffine3::from_mat3(turned * scale);
    let lying = transformed(mesh, &lying_from_file);
    let marks = given.marks.moved(&lying_from_file);
    let slicer = Slicer::new(&lying)?;

    let mut known = Known {
        heel_height: given.heel_height.map(Mm::get),
        seat: marks.seat,
        joints: [None, None],
        edgeless: false,
        pose_fixed: given.last_from_file.is_some(),
    };
    let (traced, level, told) = match &marks.feather_line {
        Some(line) => by_given_line(&slicer, line, &mut known, &marks)?,
        None => by_found_line(&slicer, &mut known, &marks)?,
    };

    // From here on everything is told in the last frame.
    let last_from_lying =
        DAffine3 { matrix3: level.turned, translation: -(level.turned * level.seat) };
    let last_from_file = last_from_lying * lying_from_file;
    let standing = transformed(mesh, &last_from_file);
    let user = given.marks.moved(&last_from_file);
    tell::off_surface(&user, &standing, &mut warnings);
    let foot = given.foot.unwrap_or(told.foot);
    told.foot_told(given.foot, &mut found, &mut warnings);
    tell::heel_height(given, &level, traced.edge, &mut found, &mut warnings);
    tell::feather_line(&traced, user.feather_line.is_some(), &mut found, &mut warnings);

    let line: Vec<DVec3> =
        traced.points.iter().map(|p| last_from_lying.transform_point3(*p)).collect();
    let mut line = from_seat_inside_first(line, foot);
    if user.feather_line.is_none() && user.seat.is_none() {
        // The line begins at the seat itself, which lies between two of its points.
        line[0] = DVec3::ZERO;
    }
    let seat = Mark::user_or(user.seat, DVec3::ZERO);
    let [left, right] = level.joints;
    let (medial, lateral) = match foot {
        Foot::Right => (left, right),
        Foot::Left => (right, left),
    };
    for (what, name, widest, given) in [
        (Found::JointMedial, "inside", medial, user.joint_medial),
        (Found::JointLateral, "outside", lateral, user.joint_lateral),
    ] {
        if given.is_none() {
            found.push(tell::joint(what, name, &widest, &level, traced.sureness));
        }
    }

    let upright = level.turned.transpose();
    let back = centre_back(&slicer, level.seat, upright * DVec3::Y, upright * DVec3::Z);
    let back: Vec<DVec3> =
        back.unwrap_or_default().iter().map(|p| last_from_lying.transform_point3(*p)).collect();
    let back_top = back.last().copied().unwrap_or(DVec3::ZERO);
    if user.centre_back_top.is_none() {
        found.push(tell::centre_back_top(back_top.z));
    }

    let sll = given.standard_last_length.map_or_else(
        || {
            let (rear, front) = span(standing.positions.iter().map(|p| p.x));
            let sll = size::standard_length(front - rear, medial.at.x - rear);
            found.push(tell::standard_length(sll));
            sll
        },
        Mm::get,
    );
    let joint_medial = Mark::user_or(user.joint_medial, medial.at);
    let joint_lateral = Mark::user_or(user.joint_lateral, lateral.at);
    let joints = [joint_medial.at, joint_lateral.at];
    let on_top = upper::find(&standing, joints, traced.sureness, &user, &mut found);
    let marks = Marks {
        seat,
        toe: Mark::user_or(user.toe, last_from_lying.transform_point3(level.toe)),
        vamp: on_top.vamp,
        waist: on_top.waist,
        instep: on_top.instep,
        top_front: on_top.top_front,
        top_back: on_top.top_back,
        joint_medial,
        joint_lateral,
        breast: Mark::user_or(user.breast.map(|p| p.x), BREAST * sll),
        ankle_medial_x: Mark::user_or(user.ankle_medial.map(|p| p.x), ANKLE_MEDIAL * sll),
        ankle_lateral_x: Mark::user_or(user.ankle_lateral.map(|p| p.x), ANKLE_LATERAL * sll),
        ankle_medial: user.ankle_medial,
        ankle_lateral: user.ankle_lateral,
        centre_back: back,
        centre_back_top: Mark::user_or(user.centre_back_top, back_top),
        feather_line: FeatherLine {
            points: line,
            edge: traced.edge,
            sureness: traced.sureness,
            source: if user.feather_line.is_some() { Source::User } else { Source::Found },
        },
    };
    let value = Last {
        mesh: standing,
        last_from_file,
        foot,
        foot_source: if given.foot.is_some() { Source::User } else { Source::Found },
        foot_by_shape: told.foot_by_shape(),
        unit,
        standard_last_length: sll,
        heel_height: level.heel_height,
        ground: level.ground,
        marks,
        found,
    };
    Ok(Warned { value, warnings })
}

/// The pose where none was given; how sure it is goes to `found`.
fn first_pose(
    mesh: &TriMesh,
    extents: &Extents,
    scale: f64,
    found: &mut Vec<Finding>,
) -> Result<DMat3, StandError> {
    let pose = rough_pose(mesh, extents);
    let alike = match (pose.bottom_sureness < 0.05, pose.heel_sureness < 0.1) {
        (_, true) => Some("its two ends are alike, so heel and toe cannot be told"),
        (true, _) => Some("no one of its sides stands out as the bottom"),
        _ => None,
    };
    if let Some(sign) = alike {
        let [length, middle, smallest] = extents.sizes.map(|s| s * scale);
        return Err(StandError::NotLastShaped { length, middle, smallest, sign: sign.into() });
    }
    found.push(Finding {
        what: Found::BottomSide,
        sureness: pose.bottom_sureness,
        sentence: "The bottom is taken to be the side where most of the surface faces one way, \
                   evenly mirrored between inside and outside."
            .into(),
    });
    found.push(Finding {
        what: Found::HeelEnd,
        sureness: pose.heel_sureness,
        sentence: "The heel is taken to be the taller end, further from the widest place.".into(),
    });
    Ok(pose.turned)
}

fn transformed(mesh: &TriMesh, by: &DAffine3) -> TriMesh {
    TriMesh {
        positions: mesh.positions.iter().map(|p| by.transform_point3(*p)).collect(),
        triangles: mesh.triangles.clone(),
    }
}

/// Volume enclosed with the point `about`; for an open mesh, with the cone over its rim.
fn volume_about(mesh: &TriMesh, about: DVec3) -> f64 {
    let sum: f64 = (0..mesh.triangles.len() as u32)
        .map(|f| {
            let [a, b, c] = mesh.corners(f).map(|p| p - about);
            a.dot(b.cross(c))
        })
        .sum();
    sum / 6.0
}
