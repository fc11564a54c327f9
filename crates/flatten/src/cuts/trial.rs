//! One set of cuts put into a surface, laid flat and judged.

use geometry::mesh::TriMesh;
use geometry::surface::{Surface, SurfacePath, imprint, open_path};
use glam::{DVec2, DVec3};

use super::CutOptions;
use super::held_anew::held_anew;
use super::judge::{Goal, Judged};
use super::line;
use super::slit::{self, Lips};
use super::stretch::Stretch;
use super::wedge;
use crate::flattening::{FlattenError, Flattening, Options};
use crate::layout::flatten;

/// A cut that is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Site {
    /// Share of the length of the stretch.
    pub(super) share: f64,
    /// mm over the surface.
    pub(super) depth: f64,
    /// Width of the V that is taken away, mm along the edge; 0 for a slit.
    pub(super) taken: f64,
}

/// Nearer to a vertex than this share of a usual side, a line goes through the vertex.
const SNAP: f64 = 0.05;

/// The direction of the edge is taken over this length to either side, mm: longer than a side of
/// a coarse mesh, short against the bends of an edge.
const TANGENT_REACH: f64 = 4.0;

/// How often what is taken away is set anew.
const TAKINGS: usize = 5;

/// A V whose sides stand further apart in the plane than this, mm, took away too much.
const WIDE: f64 = 0.2;

/// Places along a cut where the gap is looked at.
const GAPS: usize = 8;

/// A surface that cuts are tried in.
pub(super) struct Bench<'m> {
    surface: Surface<'m>,
    pub(super) stretch: Stretch,
    /// How it is laid flat.
    layout: &'m Options,
    /// Sides of the boundary that no cut may come near.
    forbidden: Vec<[DVec3; 2]>,
    own: Vec<[DVec3; 2]>,
    /// By how much cuts may come nearer than asked, mm.
    pub(super) slack: f64,
    snap: f64,
    pub(super) areas: Vec<f64>,
}

/// What a set of cuts gives.
#[derive(Clone)]
pub(super) struct Trial {
    /// As asked for, but for what had to be taken away.
    pub(super) sites: Vec<Site>,
    pub(super) mesh: TriMesh,
    pub(super) lips: Vec<Lips>,
    pub(super) flat: Flattening,
    pub(super) areas: Vec<f64>,
    pub(super) judged: Judged,
}

impl<'m> Bench<'m> {
    /// `boundary` is the whole boundary of `surface`, counter-clockwise; `stretch` a run of it.
    pub(super) fn new(
        surface: Surface<'m>,
        boundary: &[u32],
        stretch: Stretch,
        layout: &'m Options,
    ) -> Self {
        let mesh = surface.mesh;
        let place = |v: u32| mesh.positions[v as usize];
        let own: std::collections::BTreeSet<[u32; 2]> =
            stretch.vertices.windows(2).map(|e| [e[0], e[1]]).collect();
        let sides = (0..boundary.len()).map(|i| [boundary[i], boundary[(i + 1) % boundary.len()]]);
        let (own, forbidden): (Vec<[u32; 2]>, Vec<[u32; 2]>) =
            sides.partition(|side| own.contains(side));
        let areas = mesh.face_areas();
        // The side of an even triangle of the mean area.
        let side = (areas.iter().sum::<f64>() / areas.len() as f64 * 4.0 / 3f64.sqrt()).sqrt();
        Self {
            forbidden: forbidden.into_iter().map(|side| side.map(place)).collect(),
            own: own.into_iter().map(|side| side.map(place)).collect(),
            slack: 0.0,
            snap: SNAP * side,
            areas,
            layout,
            surface,
            stretch,
        }
    }

    pub(super) fn mesh(&self) -> &'m TriMesh {
        self.surface.mesh
    }

    /// The lines of `sites`, one for a slit and two for a V, if each has its place.
    fn lines(&self, sites: &[Site], options: &CutOptions) -> Option<Vec<SurfacePath>> {
        let mesh = self.surface.mesh;
        let mut lines: Vec<SurfacePath> = Vec::with_capacity(sites.len());
        let mut before: Vec<(Vec<DVec3>, f64)> = Vec::with_capacity(sites.len());
        for site in sites {
            let at = site.share * self.stretch.length();
            let mouth = self.stretch.mouth(mesh, at, TANGENT_REACH, self.snap);
            let line = line::up_from(&self.surface, &mouth, site.depth, self.snap)?;
            let points: Vec<DVec3> = line.points.iter().map(|p| p.position(mesh)).collect();
            let half = site.taken / 2.0;
            let clear = |sides: &[[DVec3; 2]], from: DVec3, least: f64| {
                sides.iter().all(|side| distance(from, *side) >= least)
            };
            let from_rest = options.apart + half - self.slack;
            let from_own = options.apart.min(site.depth / 2.0);
            let in_place = points.iter().all(|p| clear(&self.forbidden, *p, from_rest))
                && options
                    .clear
                    .iter()
                    .all(|c| points.iter().all(|p| c.is_clear(*p, half - self.slack)))
                && clear(&self.own, *points.last()?, from_own);
            let apart = before.iter().all(|(other, other_half)| {
                let sides: Vec<[DVec3; 2]> = other.windows(2).map(|e| [e[0], e[1]]).collect();
                points
                    .iter()
                    .all(|p| clear(&sides, *p, options.apart + half + other_half - self.slack))
            });
            if !(in_place && apart) {
                return None;
            }
            if site.taken > 0.0 {
                let tip = *line.points.last()?;
                for at in [at - half, at + half] {
                    let at = self.stretch.within(at)?;
                    let from = self.stretch.mouth(mesh, at, TANGENT_REACH, self.snap).point;
                    lines.push(open_path(&self.surface, &[from, tip], self.snap).ok()?);
                }
            } else {
                lines.push(line);
            }
            before.push((points, half));
        }
        Some(lines)
    }

    /// Makes the cuts. `None` where they have no place.
    fn cut(&self, sites: &[Site], options: &CutOptions) -> Option<(TriMesh, Vec<Lips>)> {
        let lines = self.lines(sites, options)?;
        let imprinted = imprint(&self.surface, &lines).ok()?;
        let mut mesh = imprinted.mesh;
        let mut paths = imprinted.paths.into_iter();
        let (mut slits, mut wedges) = (Vec::new(), Vec::new());
        for site in sites {
            if site.taken > 0.0 {
                wedges.push(Lips { left: paths.next()?, right: paths.next()? });
            } else {
                slits.push(paths.next()?);
            }
        }
        let mut slits = slit::open(&mut mesh, &slits).ok()??;
        if !wedges.is_empty() && !wedge::take_away(&mut mesh, &mut slits, &mut wedges).ok()? {
            return None;
        }
        let (mut slits, mut wedges) = (slits.into_iter(), wedges.into_iter());
        let in_order =
            sites.iter().map(|s| if s.taken > 0.0 { wedges.next() } else { slits.next() });
        Some((mesh, in_order.collect::<Option<Vec<Lips>>>()?))
    }

    /// Makes the cuts, lays the surface flat and judges. Where the sides of a cut overlap, a V is
    /// taken away and the surface laid flat again. `None` where a cut has no place, or the
    /// surface still lies on itself. `solves` counts the layouts.
    pub(super) fn try_out(
        &self,
        sites: &[Site],
        options: &CutOptions,
        solves: &mut usize,
    ) -> Option<Trial> {
        let mut sites = sites.to_vec();
        for _ in 0..TAKINGS {
            let (mesh, lips) = self.cut(&sites, options)?;
            *solves += 1;
            let held = held_anew(self.mesh(), &self.layout.held, &mesh);
            let flat = flatten(&mesh, &Options { held, ..self.layout.clone() }).ok()?;
            if flat.flipped > 0 || !flat.converged {
                return None;
            }
            let gaps: Vec<f64> = lips.iter().map(|lips| least_gap(&flat.points, lips)).collect();
            let mut settled = true;
            for (site, gap) in sites.iter_mut().zip(gaps) {
                let wide = site.taken > 0.0 && gap > WIDE;
                if gap < 0.0 && options.slits_only {
                    return None;
                }
                if gap < 0.0 || wide {
                    let taken = (site.taken - gap + WIDE / 4.0).max(0.0);
                    // A narrower V than this the mesh cannot show.
                    site.taken = if gap < 0.0 { taken.max(4.0 * self.snap) } else { taken };
                    settled = false;
                }
            }
            if settled {
                if flat.overlaps > 0 {
                    return None;
                }
                let areas = mesh.face_areas();
                let judged = Judged::new(&flat, &areas, &options.goal);
                return Some(Trial { sites, mesh, lips, flat, areas, judged });
            }
        }
        None
    }

    /// The surface as it is, laid flat.
    pub(super) fn uncut(&self, goal: &Goal) -> Result<Trial, FlattenError> {
        let flat = flatten(self.mesh(), self.layout)?;
        let judged = Judged::new(&flat, &self.areas, goal);
        Ok(Trial {
            sites: Vec::new(),
            mesh: self.mesh().clone(),
            lips: Vec::new(),
            flat,
            areas: self.areas.clone(),
            judged,
        })
    }
}

/// Distance of a point from a segment.
pub(super) fn distance(from: DVec3, [a, b]: [DVec3; 2]) -> f64 {
    let along = b - a;
    let length = along.length_squared();
    let t = if length > 0.0 { ((from - a).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
    from.distance(a + along * t)
}

/// Width of the mouth in the plane: positive where it gapes, negative where its sides have
/// passed one another.
pub(super) fn opening(points: &[DVec2], lips: &Lips) -> f64 {
    gap(points, lips, 0.0)
}

/// The least of the gaps along a cut, each taken as that of a V: as wide at the mouth.
fn least_gap(points: &[DVec2], lips: &Lips) -> f64 {
    let share = |k: usize| k as f64 / GAPS as f64;
    (0..GAPS).map(|k| gap(points, lips, share(k)) / (1.0 - share(k))).fold(f64::INFINITY, f64::min)
}

/// Distance of the two sides of a cut at `share` of the way from the mouth to the tip.
fn gap(points: &[DVec2], lips: &Lips, share: f64) -> f64 {
    let on = |line: &[u32]| -> DVec2 {
        let places: Vec<DVec2> = line.iter().map(|v| points[*v as usize]).collect();
        let whole: f64 = places.windows(2).map(|e| e[0].distance(e[1])).sum();
        let mut left = share * whole;
        for e in places.windows(2) {
            let side = e[0].distance(e[1]);
            if left <= side && side > 0.0 {
                return e[0].lerp(e[1], left / side);
            }
            left -= side;
        }
        places.last().copied().unwrap_or_default()
    };
    let [left, right] = [on(&lips.left), on(&lips.right)];
    let tip = lips.left.last().map_or(DVec2::ZERO, |v| points[*v as usize]);
    let (inward, wide) = (tip - left.midpoint(right), right - left);
    // Seen with the tip up, the right side lies to the right.
    if inward.perp_dot(wide) <= 0.0 { wide.length() } else { -wide.length() }
}
