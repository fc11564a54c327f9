//! What is given before a last is stood, and whether it can be used.

use glam::{DAffine3, DMat3};

use geometry::mesh::TriMesh;
use geometry::units::{Mm, Unit};

use super::error::StandError;
use super::marks::{Finding, Foot, GivenMarks};
use super::pose::Extents;
use super::size;

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
    pub standard_last_length: Option<Mm>,
}

impl Given {
    /// Nothing known but the size.
    pub fn size_only(standard_last_length: Mm) -> Self {
        Self { standard_last_length: Some(standard_last_length), ..Self::nothing() }
    }

    /// Nothing known.
    pub fn nothing() -> Self {
        Self {
            unit: None,
            foot: None,
            last_from_file: None,
            heel_height: None,
            marks: GivenMarks::default(),
            standard_last_length: None,
        }
    }
}

/// Millimetres per unit of the file, and that unit.
pub(super) fn scale_and_unit(
    extents: &Extents,
    given: &Given,
    found: &mut Vec<Finding>,
) -> Result<(f64, Unit), StandError> {
    let Some(pose) = given.last_from_file else {
        let (unit, finding) =
            size::unit(extents, given.unit, given.standard_last_length.map(Mm::get))?;
        found.extend(finding);
        return Ok((unit.in_mm(), unit));
    };
    let m = pose.matrix3;
    let scale = m.determinant().cbrt();
    let turned = m * (1.0 / scale);
    let skew = (turned.transpose() * turned - DMat3::IDENTITY).to_cols_array();
    if scale.is_nan() || scale <= 0.0 || skew.iter().any(|v| v.abs() > 1e-6) {
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
    size::unit(extents, Some(unit), given.standard_last_length.map(Mm::get))?;
    Ok((scale, unit))
}

/// Millimetres per unit of the file, as [`stand`](super::stand::stand) will take it; refuses what
/// has not the proportions of a last.
pub(super) fn scale(mesh: &TriMesh, given: &Given) -> Result<f64, StandError> {
    let extents = Extents::new(mesh).ok_or(StandError::Empty)?;
    let (scale, _) = scale_and_unit(&extents, given, &mut Vec::new())?;
    size::check_proportions(&extents, scale)?;
    Ok(scale)
}

/// Refuses values that cannot be used, by name.
pub(super) fn check(given: &Given) -> Result<(), StandError> {
    let bad = |what, why: String| Err(StandError::BadGiven { what, why });
    if let Some(sll) = given.standard_last_length.map(Mm::get)
        && !(80.0..=340.0).contains(&sll)
    {
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
