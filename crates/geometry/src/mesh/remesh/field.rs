//! How long edges shall be at each place: short where the surface or a line bends, growing
//! evenly away from there.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

use glam::DVec3;

use super::super::TriMesh;
use super::Sizes;
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
    wanted: BTreeMap<[i64; 3], (DVec3, f64)>,
    box_of: Option<Cells>,
}

/// The cells of a field in a box about all of them: a place is asked for many times.
struct Cells {
    low: [i64; 3],
    size: [i64; 3],
    /// For each cell of the box the number of its entry and one, 0 where there is none.
    number: Vec<u32>,
    entries: Vec<(DVec3, f64)>,
}

/// Cells that a box may have; what is spread out further is looked up in order.
const MOST_CELLS: i64 = 16_000_000;

impl Cells {
    fn new(wanted: &BTreeMap<[i64; 3], (DVec3, f64)>) -> Option<Self> {
        let axis = |k: usize| {
            let along = || wanted.keys().map(|key| key[k]);
            Some((along().min()?, along().max()?))
        };
        let ends = [axis(0)?, axis(1)?, axis(2)?];
        let low = ends.map(|(low, _)| low);
        let size = ends.map(|(low, high)| high - low + 1);
        let count = size.iter().try_fold(1_i64, |all, n| all.checked_mul(*n));
        let count = count.filter(|count| *count <= MOST_CELLS)?;
        let mut cells = Self { low, size, number: vec![0; count as usize], entries: Vec::new() };
        for (key, entry) in wanted {
            cells.entries.push(*entry);
            if let Some(at) = cells.place(*key) {
                cells.number[at] = cells.entries.len() as u32;
            }
        }
        Some(cells)
    }

    fn place(&self, key: [i64; 3]) -> Option<usize> {
        let [x, y, z] = [0, 1, 2].map(|k| key[k] - self.low[k]);
        let [nx, ny, nz] = self.size;
        let inside = (0..nx).contains(&x) && (0..ny).contains(&y) && (0..nz).contains(&z);
        inside.then(|| ((x * ny + y) * nz + z) as usize)
    }

    /// The entries of a cell and of those beside it.
    fn near(&self, [x, y, z]: [i64; 3]) -> impl Iterator<Item = &(DVec3, f64)> {
        let steps = || -1..=1;
        let beside = steps().flat_map(move |i| {
            steps().flat_map(move |j| steps().map(move |k| [x + i, y + j, z + k]))
        });
        beside.filter_map(|key| {
            let number = self.number[self.place(key)?] as usize;
            self.entries.get(number.checked_sub(1)?)
        })
    }
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
        let mut field = Self {
            cell,
            growth: sizes.growth,
            most: sizes.most,
            wanted: BTreeMap::new(),
            box_of: None,
        };
        let mut cells: BTreeMap<[i64; 3], Sum> = BTreeMap::new();
        for face in 0..patch.triangles.len() as u32 {
            let [a, b, c] = patch.corners(face);
            let area = patch.area_vector(face);
            let center = (a + b + c) / 3.0;
            let sum = cells.entry(field.key(center)).or_default();
            *sum = (sum.0 + center * area.length(), sum.1 + area, sum.2 + area.length());
        }
        // Mean place and mean normal of what lies in each cell: over several triangles of a scan, so
        // that its roughness is not taken for bending.
        let means = means(&cells);
        let wide = widened(&cells);
        for (key, (place, normal)) in &means {
            let close = bend_to(*place, *normal, near(&means, *key, 1), 0.3 * cell);
            let far = wide.get(key).map_or(0.0, |(place, normal)| {
                bend_to(*place, *normal, near(&wide, *key, WIDE), f64::from(WIDE) * 0.7 * cell)
            });
            field.ask(*place, length_for(close.min(OF_WIDE * far), sizes));
        }
        for curve in curves {
            let step = sizes.least;
            let count = (curve.length() / step) as usize;
            for i in 1..count.max(1) {
                let at = i as f64 * step;
                let (a, b, c) = (curve.at(at - step), curve.at(at), curve.at(at + step));
                let turn = (b - a).angle_between(c - b);
                let bend = if turn.is_finite() { turn / step } else { 0.0 };
                field.ask(b, length_for(bend, sizes));
            }
        }
        field.grade();
        field.box_of = Cells::new(&field.wanted);
        field
    }

    fn key(&self, place: DVec3) -> [i64; 3] {
        (place / self.cell).floor().as_i64vec3().to_array()
    }

    fn ask(&mut self, place: DVec3, length: f64) {
        let entry = self.wanted.entry(self.key(place)).or_insert((place, length));
        if length < entry.1 {
            *entry = (place, length);
        }
    }

    /// Shortens what lies near shorter lengths, from the shortest on (Dijkstra).
    fn grade(&mut self) {
        let mut queue: BinaryHeap<Short> =
            self.wanted.iter().map(|(key, (_, length))| Short(*length, *key)).collect();
        while let Some(Short(length, key)) = queue.pop() {
            let (place, now) = self.wanted[&key];
            if length > now {
                continue;
            }
            let shorter: Vec<([i64; 3], f64)> = near(&self.wanted, key, 1)
                .map(|(other, (there, old))| {
                    (other, *old, now + self.growth * there.distance(place))
                })
                .filter(|(_, old, new)| new < old)
                .map(|(other, _, new)| (other, new))
                .collect();
            for (other, new) in shorter {
                if let Some(entry) = self.wanted.get_mut(&other) {
                    entry.1 = new;
                    queue.push(Short(new, other));
                }
            }
        }
    }

    /// The length asked for at `place`, mm.
    pub(super) fn at(&self, place: DVec3) -> f64 {
        let key = self.key(place);
        let from = |(there, length): &(DVec3, f64)| length + self.growth * there.distance(place);
        match &self.box_of {
            Some(cells) => cells.near(key).map(from).fold(self.most, f64::min),
            None => near(&self.wanted, key, 1).map(|(_, e)| from(e)).fold(self.most, f64::min),
        }
    }
}

/// Mean place and mean normal of what lies in each cell.
fn means(cells: &BTreeMap<[i64; 3], Sum>) -> BTreeMap<[i64; 3], Mean> {
    let filled = cells.iter().filter(|(_, sum)| sum.2 > 0.0);
    filled.map(|(key, sum)| (*key, (sum.0 / sum.2, sum.1 / sum.2))).collect()
}

/// The means over each cell and those about it.
fn widened(cells: &BTreeMap<[i64; 3], Sum>) -> BTreeMap<[i64; 3], Mean> {
    let sums = cells.keys().map(|key| {
        let about = near(cells, *key, 1).map(|(_, sum)| *sum);
        (*key, about.fold(Sum::default(), |a, b| (a.0 + b.0, a.1 + b.1, a.2 + b.2)))
    });
    means(&sums.collect())
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

/// The entries of a cell and of those up to `reach` cells from it.
fn near<V>(
    cells: &BTreeMap<[i64; 3], V>,
    [x, y, z]: [i64; 3],
    reach: i32,
) -> impl Iterator<Item = ([i64; 3], &V)> {
    let r = i64::from(reach);
    let columns = (-r..=r).flat_map(move |dx| (-r..=r).map(move |dy| (x + dx, y + dy)));
    columns.flat_map(move |(x, y)| cells.range([x, y, z - r]..=[x, y, z + r]).map(|(k, v)| (*k, v)))
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
