//! Places where a surface passes through itself or is folded: found and told, not mended.

use std::collections::BTreeSet;

use glam::DVec3;

use super::TriMesh;
use super::edges::{Sets, edge_uses, edges};
use super::holes::crossing::{Box3, cross};
use super::repair::{Repair, RepairKind, largest_places};
use super::weld::size_and_middle;

/// A box with no more triangles than this is not divided further.
const FEW: usize = 8;

/// Crossings nearer to each other than this share of the span are one place: 13 mm of 260.
const ONE_PLACE: f64 = 0.05;

/// Neighbours are folded onto each other where the cosine between their normals is below this: the
/// crease is then sharper than 26 degrees, and no form has an edge as sharp.
const FOLDED: f64 = -0.9;

/// A triangle lower than this share of its longest side has no normal to go by.
const SLENDER: f64 = 0.05;

/// No more pairs than this are sought: a crumpled surface need not be counted to the end.
const MOST_PAIRS: usize = 200_000;

/// Tells where `mesh` passes through itself or is folded back on itself, as where two scans were
/// laid wrongly. `None` where nothing does.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn crossed(mesh: &TriMesh) -> Option<Repair> {
    let mut pairs = pairs(mesh);
    pairs.extend(folded(mesh));
    if pairs.is_empty() {
        return None;
    }
    let faces: BTreeSet<u32> = pairs.iter().flatten().copied().collect();
    let middle = |f: u32| mesh.corners(f).iter().sum::<DVec3>() / 3.0;
    let middles: Vec<DVec3> = faces.iter().map(|f| middle(*f)).collect();
    let places = gathered(&middles, ONE_PLACE * super::base::span(&mesh.positions));
    let (count, largest) = (places.len(), places.iter().map(|p| p.0).fold(0.0, f64::max));
    let told = Repair::new(
        RepairKind::CrossingLeft,
        count,
        largest_places(places),
        format!(
            "the surface passes through itself or is folded over: {count} place{}, up to {{}} across, {} triangles",
            if count == 1 { "" } else { "s" },
            faces.len()
        ),
        "look at the surface there: a measure across it may be wrong; scan that part again, or \
         smooth it in the scan program",
    );
    Some(told.with_lengths(vec![largest]))
}

/// Neighbours that lie on each other.
fn folded(mesh: &TriMesh) -> Vec<[u32; 2]> {
    let normal = |f: u32| {
        let twice = mesh.area_vector(f);
        let (longest, _) = size_and_middle(mesh.corners(f));
        (twice.length() > SLENDER * longest * longest).then(|| twice.normalize_or_zero())
    };
    let normals: Vec<Option<DVec3>> = (0..mesh.triangles.len() as u32).map(normal).collect();
    let uses = edge_uses(mesh);
    let pairs = edges(&uses).filter_map(|uses| match uses {
        [a, b] => Some([a.face, b.face]),
        _ => None,
    });
    let is_folded = |pair: &[u32; 2]| match pair.map(|f| normals[f as usize]) {
        [Some(a), Some(b)] => a.dot(b) < FOLDED,
        _ => false,
    };
    pairs.filter(is_folded).collect()
}

/// The places that points lie in: how far across each is, and its middle.
fn gathered(points: &[DVec3], apart: f64) -> Vec<(f64, DVec3)> {
    let mut order: Vec<u32> = (0..points.len() as u32).collect();
    order.sort_by(|a, b| points[*a as usize].x.total_cmp(&points[*b as usize].x));
    let mut sets = Sets::new(points.len());
    for (i, a) in order.iter().enumerate() {
        let p = points[*a as usize];
        // Joined to a few: a crowd is joined through its neighbours.
        let near = order[i + 1..].iter().take_while(|b| points[**b as usize].x - p.x <= apart);
        for b in near.filter(|b| points[**b as usize].distance(p) <= apart).take(8) {
            sets.join(*a, *b);
        }
    }
    let mut named: Vec<(u32, DVec3)> =
        (0..points.len() as u32).map(|i| (sets.find(i), points[i as usize])).collect();
    named.sort_by_key(|(name, _)| *name);
    let places = named.chunk_by(|a, b| a.0 == b.0).map(|place| {
        let bounds = Box3::of(place.iter().map(|(_, p)| *p));
        let sum: DVec3 = place.iter().map(|(_, p)| *p).sum();
        ((bounds.high - bounds.low).length(), sum / place.len() as f64)
    });
    places.collect()
}

/// A box round some triangles, halved until they are few.
struct Node {
    bounds: Box3,
    /// The two halves, or the triangles.
    inner: Result<[usize; 2], Vec<u32>>,
}

/// The pairs of triangles that cross, the smaller number first.
fn pairs(mesh: &TriMesh) -> Vec<[u32; 2]> {
    let boxes: Vec<Box3> =
        (0..mesh.triangles.len() as u32).map(|f| Box3::of(mesh.corners(f))).collect();
    let mut nodes = Vec::new();
    let mut all: Vec<u32> = (0..boxes.len() as u32).collect();
    let root = halved(&boxes, &mut all, &mut nodes);
    let mut found = Vec::new();
    let mut waiting = vec![[root, root]];
    while let Some([m, n]) = waiting.pop() {
        if m != n && !nodes[m].bounds.meets(&nodes[n].bounds) {
            continue;
        }
        match (&nodes[m].inner, &nodes[n].inner) {
            (Ok([a, b]), _) if m == n => waiting.extend([[*a, *a], [*a, *b], [*b, *b]]),
            (Ok([a, b]), _) => waiting.extend([[n, *a], [n, *b]]),
            (Err(_), Ok([a, b])) => waiting.extend([[m, *a], [m, *b]]),
            (Err(own), Err(other)) => {
                for f in own {
                    for g in other.iter().filter(|g| m != n || f < *g) {
                        let meet = boxes[*f as usize].meets(&boxes[*g as usize]);
                        if meet && cross(mesh, *f, *g) {
                            found.push([*f.min(g), *f.max(g)]);
                        }
                    }
                }
            }
        }
        if found.len() > MOST_PAIRS {
            break;
        }
    }
    found.sort_unstable();
    found
}

/// Halves across the longest extent of the middles; returns the number of the node.
fn halved(boxes: &[Box3], faces: &mut [u32], nodes: &mut Vec<Node>) -> usize {
    let corners = faces.iter().flat_map(|f| [boxes[*f as usize].low, boxes[*f as usize].high]);
    let bounds = Box3::of(corners);
    let inner = if faces.len() <= FEW {
        Err(faces.to_vec())
    } else {
        let middle = |f: &u32| boxes[*f as usize].low + boxes[*f as usize].high;
        let spread = Box3::of(faces.iter().map(middle));
        let extent = spread.high - spread.low;
        let longest =
            DVec3::AXES.into_iter().max_by(|a, b| extent.dot(*a).total_cmp(&extent.dot(*b)));
        let axis = longest.unwrap_or(DVec3::X);
        let half = faces.len() / 2;
        faces.select_nth_unstable_by(half, |a, b| {
            middle(a).dot(axis).total_cmp(&middle(b).dot(axis)).then(a.cmp(b))
        });
        let (low, high) = faces.split_at_mut(half);
        Ok([halved(boxes, low, nodes), halved(boxes, high, nodes)])
    };
    nodes.push(Node { bounds, inner });
    nodes.len() - 1
}
