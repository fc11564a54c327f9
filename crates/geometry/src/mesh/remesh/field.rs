//! How long edges shall be at each place: short where the surface or a line bends, growing
//! evenly away from there.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

use glam::DVec3;

use super::super::TriMesh;
use super::Sizes;
use super::cells::Cells;
use super::chains::Curve;

/// Places and normals, weighed by area, and the area.
type Sum = (DVec3, DVec3, f64);

/// Mean place and mean normal.
type Mean = (DVec3, DVec3);

/// Lengths at places of the patch, one for each cell of a grid that the patch passes through.
pub(super) struct Field {
    cell: f64,
    growth: f64,
    most: f64,
    wanted: Cells<(DVec3, f64)>,
}

/// The side of a cell as a share of the longest edge: wide enough to hold several triangles of a
/// scan, narrow enough to see a rounded edge.
const CELL: f64 = 0.6;

/// Bending is also measured over this many cells, between means over three cells each: there the
/// roughness of a scan tells nine times less.
const WIDE: i32 = 3;

/// How much stronger than over the wide way a true bend may be over the short one: a sharp rounding
/// is as much shorter.
const OF_WIDE: f64 = 3.0;

impl Field {
    /// The field over `patch` and its curves.
    pub(super) fn new(patch: &TriMesh, curves: &[Curve], sizes: &Sizes) -> Self {
        let cell = CELL * sizes.most;
        let key = |place: DVec3| key_of(place, cell);
        let mut sums: BTreeMap<[i64; 3], Sum> = BTreeMap::new();
        for face in 0..patch.triangles.len() as u32 {
            let [a, b, c] = patch.corners(face);
            let area = patch.area_vector(face);
            let center = (a + b + c) / 3.0;
            let sum = sums.entry(key(center)).or_default();
            *sum = (sum.0 + center * area.length(), sum.1 + area, sum.2 + area.length());
        }
        // Mean place and mean normal of what lies in each cell: over several triangles of a scan, so
        // that its roughness is not taken for bending.
        let sums = Cells::new(sums);
        let means = means(sums.iter().map(|(key, sum)| (key, *sum)));
        let wide = widened(&sums);
        let mut wanted: BTreeMap<[i64; 3], (DVec3, f64)> = BTreeMap::new();
        let mut ask = |place: DVec3, length: f64| {
            let entry = wanted.entry(key(place)).or_insert((place, length));
            if length < entry.1 {
                *entry = (place, length);
            }
        };
        for (key, (place, normal)) in means.iter() {
            let close = bend_to(*place, *normal, means.near(key, 1), 0.3 * cell);
            let far = wide.get(key).map_or(0.0, |(place, normal)| {
                let others = wide.near(key, WIDE);
                bend_to(*place, *normal, others, f64::from(WIDE) * 0.7 * cell)
            });
            ask(*place, length_for(close.min(OF_WIDE * far), sizes));
        }
        for curve in curves {
            let step = sizes.least;
            let count = (curve.length() / step) as usize;
            for i in 1..count.max(1) {
                let at = i as f64 * step;
                let (a, b, c) = (curve.at(at - step), curve.at(at), curve.at(at + step));
                let turn = (b - a).angle_between(c - b);
                let bend = if turn.is_finite() { turn / step } else { 0.0 };
                ask(b, length_for(bend, sizes));
            }
        }
        let wanted = Cells::new(wanted);
        let mut field = Self { cell, growth: sizes.growth, most: sizes.most, wanted };
        field.grade();
        field
    }

    /// Shortens what lies near shorter lengths, from the shortest on (Dijkstra).
    fn grade(&mut self) {
        let mut queue: BinaryHeap<Short> =
            self.wanted.iter().map(|(key, (_, length))| Short(*length, key)).collect();
        while let Some(Short(length, key)) = queue.pop() {
            let Some((place, now)) = self.wanted.get(key).copied() else { continue };
            if length > now {
                continue;
            }
            let shorter: Vec<([i64; 3], f64)> = self
                .wanted
                .near(key, 1)
                .map(|(other, (there, old))| {
                    (other, *old, now + self.growth * there.distance(place))
                })
                .filter(|(_, old, new)| new < old)
                .map(|(other, _, new)| (other, new))
                .collect();
            for (other, new) in shorter {
                if let Some(entry) = self.wanted.get_mut(other) {
                    entry.1 = new;
                    queue.push(Short(new, other));
                }
            }
        }
    }

    /// The length asked for at `place`, mm.
    pub(super) fn at(&self, place: DVec3) -> f64 {
        self.wanted
            .near(key_of(place, self.cell), 1)
            .map(|(_, (there, length))| length + self.growth * there.distance(place))
            .fold(self.most, f64::min)
    }
}

fn key_of(place: DVec3, cell: f64) -> [i64; 3] {
    (place / cell).floor().as_i64vec3().to_array()
}

/// Mean place and mean normal of what lies in each cell.
fn means(sums: impl Iterator<Item = ([i64; 3], Sum)>) -> Cells<Mean> {
    let filled = sums.filter(|(_, sum)| sum.2 > 0.0);
    Cells::new(filled.map(|(key, sum)| (key, (sum.0 / sum.2, sum.1 / sum.2))).collect())
}

/// The means over each cell and those about it.
fn widened(sums: &Cells<Sum>) -> Cells<Mean> {
    means(sums.iter().map(|(key, _)| {
        let about = sums.near(key, 1).map(|(_, sum)| *sum);
        (key, about.fold(Sum::default(), |a, b| (a.0 + b.0, a.1 + b.1, a.2 + b.2)))
    }))
}

/// The strongest bending, radians a millimetre, from a place to others further off than `least`.
fn bend_to<'a>(
    place: DVec3,
    normal: DVec3,
    others: impl Iterator<Item = ([i64; 3], &'a Mean)>,
    least: f64,
) -> f64 {
    let bends = others.filter_map(|(_, (other, turned))| {
        let far = other.distance(place);
        let turn = normal.angle_between(*turned);
        (far > least && turn.is_finite()).then(|| turn / far)
    });
    bends.fold(0.0, f64::max)
}

/// The edge whose middle lies `sag` off a circle that bends by `bend` radians a millimetre.
fn length_for(bend: f64, sizes: &Sizes) -> f64 {
    if bend > 0.0 {
        (8.0 * sizes.sag / bend).sqrt().clamp(sizes.least, sizes.most)
    } else {
        sizes.most
    }
}

/// A cell, shortest length first.
#[derive(PartialEq)]
struct Short(f64, [i64; 3]);

impl Eq for Short {}

impl PartialOrd for Short {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Short {
    fn cmp(&self, other: &Self) -> Ordering {
        other.0.total_cmp(&self.0).then(other.1.cmp(&self.1))
    }
}
