//! Standing a scanned last on its heel height and finding its marks.

use glam::{DAffine3, DMat3, DVec3};

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::section::Slicer;
use geometry::units::{Mm, Unit};
use geometry::warned::Warned;

use super::back::centre_back;
use super::feather::{FeatherLine, NoEdge};
use super::level::Known;
use super::marks::{Finding, Foot, Found, GivenMarks, Mark, Marks, Source};
use super::pose::{Extents, rough_pose};
use super::settle::{by_found_line, by_given_line, from_seat_inside_first};
use super::{size, tell};

/// Where the heel breast stands, in standard lengths from the seat (published: SLL / 4).
const BREAST: f64 = 0.25;
/// Where the inside ankle stands, likewise (common practice, no source).
const ANKLE_MEDIAL: f64 = 0.28;
/// Where the outside ankle stands, likewise (common practice, no source).
const ANKLE_LATERAL: f64 = 0.22;

/// What the user or the job already knows. Every value given wins over what would be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// The unit of the file.
    pub unit: Option<Unit>,
    /// Which foot the last is for.
    pub foot: Option<Foot>,
    /// The pose: a rotation with an even scale (millimetres per unit of the file). Its
    /// rotation and scale are kept; the origin is always put at the seat, and where a heel
    /// height is given too the last is tipped about y to stand on it.
    pub last_from_file: Option<DAffine3>,
    /// Height of the seat point above the ground.
    pub heel_height: Option<Mm>,
    /// Marks in the coordinates of the file.
    pub marks: GivenMarks,
    /// Standard last length, from the size (EU size x 20/3 mm).
    pub standard_last_length: Mm,
}

impl Given {
    /// Nothing known but the size.
    pub fn size_only(standard_last_length: Mm) -> Self {
        Self {
            unit: None,
            foot: None,
            last_from_file: None,
            heel_height: None,
            marks: GivenMarks::default(),
            standard_last_length,
        }
    }
}

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
    /// The unit of the file.
    pub unit: Unit,
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

/// Why a mesh could not be stood as a last.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StandError {
    /// The mesh has no area.
    #[error("the mesh has no surface; choose another file")]
    Empty,
    /// The mesh is not one tidy surface.
    #[error("the mesh is not tidy: {0}; repair it first")]
    Untidy(#[from] AdjacencyError),
    /// The surface faces inward.
    #[error(
        "the surface faces inward (it encloses {volume:.0} cubic units); turn its triangles over"
    )]
    InsideOut {
        /// Signed volume about its middle, in cubed units of the file.
        volume: f64,
    },
    /// In no unit is it as long as a last.
    #[error(
        "the form is {length} units long, which is a last in no unit (100 to 340 mm); choose \
         another file, or scale it"
    )]
    NoUnit {
        /// Longest extent, in units of the file.
        length: f64,
    },
    /// Too large in the given unit.
    #[error("the form is {length:.0} mm long when read in {unit}, a last at most 340 mm; {fits}")]
    TooLarge {
        /// Longest extent, mm.
        length: f64,
        /// The unit given.
        unit: Unit,
        /// Which units would fit.
        fits: String,
    },
    /// Too small in the given unit.
    #[error("the form is {length:.2} mm long when read in {unit}, a last at least 100 mm; {fits}")]
    TooSmall {
        /// Longest extent, mm.
        length: f64,
        /// The unit given.
        unit: Unit,
        /// Which units would fit.
        fits: String,
    },
    /// Not the proportions of a last.
    #[error(
        "this is not shaped like a last: {length:.0} x {middle:.0} x {smallest:.0} mm, {sign}; \
         choose another file, or cut away what is not the last"
    )]
    NotLastShaped {
        /// Longest extent, mm.
        length: f64,
        /// Middle extent, mm.
        middle: f64,
        /// Smallest extent, mm.
        smallest: f64,
        /// What is wrong with it.
        sign: String,
    },
    /// The feather line did not show.
    #[error(
        "no line between bottom and wall shows: only {found} of {of} sections have one; check \
         that the bottom was scanned, or draw the feather line by hand"
    )]
    NoFeatherLine {
        /// Sections with an edge.
        found: usize,
        /// Sections tried.
        of: usize,
    },
    /// A value given by the user cannot be used.
    #[error("the given {what} cannot be used: {why}")]
    BadGiven {
        /// Which value.
        what: &'static str,
        /// Why not, and what would do.
        why: String,
    },
}

impl From<NoEdge> for StandError {
    fn from(e: NoEdge) -> Self {
        StandError::NoFeatherLine { found: e.found, of: e.of }
    }
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
    check_given(given)?;
    let mut warnings = Vec::new();
    let mut found = Vec::new();
    let extents = Extents::new(mesh).ok_or(StandError::Empty)?;
    let volume = volume_about(mesh, extents.centre);
    if volume < 0.0 {
        return Err(StandError::InsideOut { volume });
    }

    let (scale, unit) = scale_and_unit(&extents, given, &mut found)?;
    size::check_proportions(&extents, scale)?;
    tell::size(extents.sizes[0] * scale, given.standard_last_length.get(), &mut warnings);

    let turned = match given.last_from_file {
        Some(pose) => DMat3::from(pose.matrix3) * (1.0 / scale),
        None => first_pose(mesh, &extents, scale, &mut found)?,
    };
    let lying_from_file = DAffine3::from_mat3(turned * scale);
    let lying = transformed(mesh, &lying_from_file);
    let marks = in_frame(&given.marks, &lying_from_file);
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
    let user = in_frame(&given.marks, &last_from_file);
    let foot = given.foot.unwrap_or(told.foot);
    told.foot_told(given.foot, &mut found, &mut warnings);
    tell::heel_height(given, &level, traced.edge, &mut found, &mut warnings);
    tell::feather_line(&traced, user.feather_line.is_some(), &mut found, &mut warnings);

    let line: Vec<DVec3> =
        traced.points.iter().map(|p| last_from_lying.transform_point3(*p)).collect();
    let line = from_seat_inside_first(line, foot);
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

    let sll = given.standard_last_length.get();
    let marks = Marks {
        seat,
        toe: Mark::found(last_from_lying.transform_point3(level.toe)),
        joint_medial: Mark::user_or(user.joint_medial, medial.at),
        joint_lateral: Mark::user_or(user.joint_lateral, lateral.at),
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
        unit,
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
    if pose.heel_sureness < 0.1 {
        let [length, middle, smallest] = extents.sizes.map(|s| s * scale);
        let sign = "its two ends are alike, so heel and toe cannot be told".into();
        return Err(StandError::NotLastShaped { length, middle, smallest, sign });
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

/// Millimetres per unit of the file, and that unit.
fn scale_and_unit(
    extents: &Extents,
    given: &Given,
    found: &mut Vec<Finding>,
) -> Result<(f64, Unit), StandError> {
    let Some(pose) = given.last_from_file else {
        let (unit, finding) = size::unit(extents, given.unit, given.standard_last_length.get())?;
        found.extend(finding);
        return Ok((unit.in_mm(), unit));
    };
    let m = DMat3::from(pose.matrix3);
    let scale = m.determinant().cbrt();
    let turned = m * (1.0 / scale);
    let skew = (turned.transpose() * turned - DMat3::IDENTITY).to_cols_array();
    if !(scale > 0.0) || skew.iter().any(|v| v.abs() > 1e-6) {
        let why = format!(
            "it must be a rotation with one positive scale, and its determinant is {:.4}",
            m.determinant()
        );
        return Err(StandError::BadGiven { what: "pose", why });
    }
    let away = |u: &Unit| (u.in_mm() / scale).ln().abs();
    let nearest = Unit::ALL.into_iter().min_by(|a, b| away(a).total_cmp(&away(b)));
    let unit = given.unit.or(nearest).unwrap_or(Unit::Mm);
    if away(&unit) > 0.1 {
        let why = format!("it scales by {scale:.4}, but one {unit} is {} mm", unit.in_mm());
        return Err(StandError::BadGiven { what: "pose", why });
    }
    size::unit(extents, Some(unit), given.standard_last_length.get())?;
    Ok((scale, unit))
}

fn check_given(given: &Given) -> Result<(), StandError> {
    let bad = |what, why: String| Err(StandError::BadGiven { what, why });
    let sll = given.standard_last_length.get();
    if !(80.0..=340.0).contains(&sll) {
        return bad("standard last length", format!("{sll} mm is not between 80 and 340 mm"));
    }
    if let Some(h) = given.heel_height.map(Mm::get)
        && !(-10.0..=150.0).contains(&h)
    {
        return bad("heel height", format!("{h} mm is not between -10 and 150 mm"));
    }
    if let Some((name, p)) = given.marks.points().find(|(_, p)| !p.is_finite()) {
        return bad(name, format!("its coordinates are {p}"));
    }
    if given.marks.feather_line.as_ref().is_some_and(|line| line.len() < 24) {
        return bad("feather line", "it needs at least 24 points all round".into());
    }
    if given.last_from_file.is_some_and(|pose| !pose.is_finite()) {
        return bad("pose", "it holds numbers that are not finite".into());
    }
    Ok(())
}

fn transformed(mesh: &TriMesh, by: &DAffine3) -> TriMesh {
    TriMesh {
        positions: mesh.positions.iter().map(|p| by.transform_point3(*p)).collect(),
        triangles: mesh.triangles.clone(),
    }
}

fn in_frame(marks: &GivenMarks, by: &DAffine3) -> GivenMarks {
    let moved = |p: Option<DVec3>| p.map(|p| by.transform_point3(p));
    GivenMarks {
        seat: moved(marks.seat),
        joint_medial: moved(marks.joint_medial),
        joint_lateral: moved(marks.joint_lateral),
        ankle_medial: moved(marks.ankle_medial),
        ankle_lateral: moved(marks.ankle_lateral),
        breast: moved(marks.breast),
        centre_back_top: moved(marks.centre_back_top),
        feather_line: marks
            .feather_line
            .as_ref()
            .map(|line| line.iter().map(|p| by.transform_point3(*p)).collect()),
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
