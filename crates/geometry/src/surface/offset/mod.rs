//! A surface at a fixed distance from another.

mod crease;
mod level;
mod normals;
mod region;
mod tight;
mod unfold;

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::mesh::crossed::crossed;
use crate::warned::{Warned, Warning};
use level::{Foot, Level};
pub use tight::Tight;

/// A vertex further from its distance than this, mm, is told.
const TOLD: f64 = 0.02;

/// A surface at a fixed distance from another, with the vertex numbers and triangles of that one.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// The surface.
    pub mesh: TriMesh,
    /// The most by which a vertex misses its distance to the nearest place of the original, mm.
    pub error: f64,
    /// Triangles that lie turned over or have no area, ascending; none in a sound surface.
    pub folded: Vec<u32>,
    /// Where the original is bent more tightly than the distance, the largest first.
    pub tight: Vec<Tight>,
}

/// The surface whose vertices are `distance` mm outside `mesh` (negative: inside), measured to the
/// nearest place of `mesh`: the boundary of all that is within the distance, on one side.
///
/// Each vertex goes along the mean of the normals within `reach` mm, weighted by area and nearness,
/// until it is at its distance. So the places along the surface are as smooth as those means,
/// whatever the facets of a scan or the slivers of a cut, while the distance holds to the facets
/// themselves. Over a rough surface the outcome lies `distance` above its peaks and bridges its
/// valleys: it is smoother than the surface, and on average further from it than `distance`.
///
/// In a hollow bent more tightly than the distance the surface has a crease where two sides meet,
/// and the part of `mesh` between them has no place of its own: the directions are blended further
/// about it, until no triangle is turned over, so that the part and its surroundings share what is
/// left; where that is not enough, as in a slot, the vertices are spread over the surface as by the
/// mean value coordinates of the original (M. Floater, 2003). A vertex beside the crease is moved
/// onto it, so that no triangle bridges it where that can be. What is still folded is told.
///
/// On the outside of a sharp edge the surface is a round that only vertices lie on: the triangles
/// between cut across it by their sagitta, as they do anywhere.
///
/// Warns of hollows that are too tight, and of what could not be reached. A distance of 0 or that
/// is no number, a reach that is not above 0, or no triangles: the same surface comes back.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn offset(mesh: &TriMesh, distance: f64, reach: f64) -> Warned<Offset> {
    let side = 1.0_f64.copysign(distance);
    let own: Vec<DVec3> = mesh.vertex_normals().into_iter().map(|n| n * side).collect();
    let usable = distance.is_finite() && distance != 0.0 && reach > 0.0;
    let level = if usable { Level::new(mesh, &own, distance.abs()) } else { None };
    let Some(level) = level else { return unmoved(mesh, distance) };
    let ways: Vec<DVec3> = normals::averaged(mesh, &mesh.vertex_normals(), reach)
        .into_iter()
        .map(|n| n * side)
        .collect();
    let mut moved = Moved::along(mesh, &level, side, ways);
    let tight = tight::found(mesh, &level, &own, &moved.short);
    let repaired = unfold::unfold(&mut moved);
    crease::follow(&mut moved);
    finished(moved, tight, repaired)
}

fn unmoved(mesh: &TriMesh, distance: f64) -> Warned<Offset> {
    let value = Offset { mesh: mesh.clone(), error: 0.0, folded: Vec::new(), tight: Vec::new() };
    if distance == 0.0 || mesh.triangles.is_empty() {
        return Warned::clean(value);
    }
    let told = Warning {
        place: "surface".to_owned(),
        message: format!("the surface was not moved: {distance} mm is no distance to move it by"),
        hint: "give a distance in millimetres".to_owned(),
    };
    Warned { value, warnings: vec![told] }
}

/// A surface on its way.
struct Moved<'m> {
    mesh: &'m TriMesh,
    level: &'m Level<'m>,
    /// 1 outward, -1 inward.
    side: f64,
    /// The unit directions in which the vertices go.
    ways: Vec<DVec3>,
    places: Vec<DVec3>,
    feet: Vec<Foot>,
    /// How much nearer than the distance something is to where the vertex would be by its direction
    /// alone, mm.
    short: Vec<f64>,
}

impl<'m> Moved<'m> {
    fn along(mesh: &'m TriMesh, level: &'m Level<'m>, side: f64, ways: Vec<DVec3>) -> Self {
        let n = mesh.positions.len();
        let none = Foot { gap: f64::NAN, away: DVec3::ZERO };
        let (feet, short) = (vec![none; n], vec![0.0; n]);
        let mut moved =
            Self { mesh, level, side, ways, places: mesh.positions.clone(), feet, short };
        for v in 0..n {
            moved.go(v);
        }
        moved
    }

    /// Takes a vertex along its direction; where that does not lead to the distance, it stays one
    /// distance on.
    fn go(&mut self, v: usize) {
        let (start, way) = (self.mesh.positions[v], self.ways[v]);
        let ahead = start + way * self.level.distance;
        let first = self.level.foot_within(ahead, self.level.distance);
        self.short[v] = (self.level.distance - first.gap).max(0.0);
        let (place, foot) = self.level.along(start, way, first).unwrap_or((ahead, first));
        self.places[v] = place;
        self.feet[v] = foot;
    }

    /// Twice the area of a triangle as seen from the side on which it should face, mm²; what it was
    /// before.
    fn facing(&self, face: u32) -> (f64, f64) {
        let t = self.mesh.triangles[face as usize].map(|v| v as usize);
        let [a, b, c] = t.map(|v| self.places[v]);
        let away = t.iter().map(|v| self.feet[*v].away).sum::<DVec3>().normalize_or_zero();
        let seen = (b - a).cross(c - a).dot(away) * self.side;
        (seen, self.mesh.area_vector(face).length())
    }

    /// Whether a triangle has less of its area left than `share`, or a corner of it is off its
    /// distance.
    fn is_bad(&self, face: u32, share: f64) -> bool {
        let (seen, before) = self.facing(face);
        let off = |v: &u32| !self.level.is_on(&self.feet[*v as usize]);
        before > 0.0
            && (seen <= share * before || self.mesh.triangles[face as usize].iter().any(off))
    }

    fn bad(&self, share: f64) -> Vec<u32> {
        (0..self.mesh.triangles.len() as u32).filter(|f| self.is_bad(*f, share)).collect()
    }
}

fn finished(moved: Moved<'_>, tight: Vec<Tight>, repaired: bool) -> Warned<Offset> {
    let faces = 0..moved.mesh.triangles.len() as u32;
    let folded: Vec<u32> = faces.filter(|f| moved.facing(*f).0 <= 0.0).collect();
    let used = moved.feet.iter().filter(|foot| foot.away != DVec3::ZERO);
    let error = used.map(|foot| moved.level.error(foot)).fold(0.0, f64::max);
    let mut warnings: Vec<Warning> = tight.iter().map(|t| t.told(moved.level.distance)).collect();
    let mesh = TriMesh { positions: moved.places, triangles: moved.mesh.triangles.clone() };
    let mut tell = |message: String, hint: &str| {
        let place = "moved surface".to_owned();
        warnings.push(Warning { place, message, hint: hint.to_owned() });
    };
    if error > TOLD {
        tell(
            format!("a place of the moved surface is {error:.2} mm off its distance"),
            "look for a slot or fold in the surface",
        );
    }
    if !folded.is_empty() {
        tell(
            format!("{} triangles of the moved surface are folded over", folded.len()),
            "smooth the surface there, or move it by less",
        );
    }
    if repaired && let Some(left) = crossed(&mesh) {
        tell(left.in_unit(1.0, "mm").message, "smooth the surface there, or move it by less");
    }
    Warned { value: Offset { mesh, error, folded, tight }, warnings }
}
