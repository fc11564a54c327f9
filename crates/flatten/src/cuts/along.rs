//! Where along the edge the strain is, and the surface seen in a mirror.
//!
//! Of several good places the search finds one or another by the way it goes. So a surface and
//! its mirror image are searched alike, from the end with more strain, and get mirrored cuts.

use geometry::mesh::TriMesh;
use glam::DVec3;

use super::CutOptions;
use super::trial::{Bench, Trial};

/// The strain may lean this far to the second half of the stretch, as a share of its length, before
/// the surface is seen in a mirror: an even surface, where the mesh decides, leans less.
const LEANS: f64 = 2e-3;

/// The strain within reach of a cut above even parts of the stretch.
pub(super) fn strain_along(bench: &Bench<'_>, options: &CutOptions, found: &Trial) -> Vec<f64> {
    let length = bench.stretch.length();
    let bins = ((2.0 * length / options.apart).ceil() as usize).clamp(8, 400);
    let middle = |bin: usize| (bin as f64 + 0.5) / bins as f64;
    let edge: Vec<DVec3> = (0..bins)
        .map(|bin| bench.stretch.mouth(bench.mesh(), middle(bin) * length, 1.0, 0.0).place)
        .collect();
    let mut strain = vec![0.0; bins];
    for (face, s) in found.flat.strain.singular_values.iter().enumerate() {
        let [a, b, c] = found.mesh.corners(face as u32);
        let center = (a + b + c) / 3.0;
        let squared = s.map(|s| (s - 1.0 / s).powi(2)).iter().sum::<f64>();
        let near = (0..bins)
            .map(|bin| (center.distance_squared(edge[bin]), bin))
            .min_by(|x, y| x.0.total_cmp(&y.0));
        if let Some((far, bin)) = near
            && far < (1.5 * options.deepest).powi(2)
        {
            strain[bin] += squared * found.areas[face];
        }
    }
    strain
}

/// The surface as it is searched.
pub(super) struct Seen {
    pub(super) mesh: TriMesh,
    pub(super) options: CutOptions,
    /// Whether it is the mirror image of the one given; what lies at a share of the edge then
    /// lies at the rest of it.
    pub(super) mirrored: bool,
}

impl Seen {
    /// The surface of `bench` or its mirror image: the one with less of the strain of `uncut`
    /// in the second half of the edge.
    pub(super) fn from_strained_end(
        bench: &Bench<'_>,
        options: &CutOptions,
        uncut: &Trial,
    ) -> Self {
        if leans_to_end(bench, options, uncut) {
            let (mesh, options) = mirrored(bench.mesh(), options);
            return Self { mesh, options, mirrored: true };
        }
        Self { mesh: bench.mesh().clone(), options: options.clone(), mirrored: false }
    }
}

/// Whether the second half of the stretch has more of the strain.
fn leans_to_end(bench: &Bench<'_>, options: &CutOptions, found: &Trial) -> bool {
    let strain = strain_along(bench, options, found);
    let share = |bin: usize| (bin as f64 + 0.5) / strain.len() as f64;
    let moment: f64 = strain.iter().enumerate().map(|(bin, s)| share(bin) * s).sum();
    !bench.stretch.closed() && moment > (0.5 + LEANS) * strain.iter().sum::<f64>()
}

/// The surface in the mirror, and what is asked of it.
fn mirrored(mesh: &TriMesh, options: &CutOptions) -> (TriMesh, CutOptions) {
    let over = |p: &DVec3| DVec3::new(-p.x, p.y, p.z);
    let mut options = options.clone();
    options.edge.reverse();
    for place in options.clear.iter_mut().flat_map(|clear| &mut clear.line) {
        *place = over(place);
    }
    let mesh = TriMesh {
        positions: mesh.positions.iter().map(over).collect(),
        triangles: mesh.triangles.iter().map(|[a, b, c]| [*c, *b, *a]).collect(),
    };
    (mesh, options)
}
