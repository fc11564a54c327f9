//! What lies in the cells of a grid, looked up by cell.

use std::collections::BTreeMap;

/// A cell, counted along the axes.
pub(super) type Key = [i64; 3];

/// Cells that a box may have, so many bytes four times; what is spread out further is looked for.
const MOST_CELLS: i64 = 16_000_000;

/// Entries of cells, in the order of their keys.
pub(super) struct Cells<V> {
    entries: Vec<(Key, V)>,
    boxed: Option<Boxed>,
}

/// A box about all cells: neighbours are asked for many times.
struct Boxed {
    low: Key,
    size: Key,
    /// For each cell of the box the number of its entry and one, 0 where there is none.
    numbers: Vec<u32>,
}

impl<V> Cells<V> {
    /// The cells of `entries`.
    pub(super) fn new(entries: BTreeMap<Key, V>) -> Self {
        let entries: Vec<(Key, V)> = entries.into_iter().collect();
        let boxed = Boxed::about(&entries);
        Self { entries, boxed }
    }

    /// Every entry, in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = (Key, &V)> {
        self.entries.iter().map(|(key, value)| (*key, value))
    }

    /// The entry of a cell.
    pub(super) fn get(&self, key: Key) -> Option<&V> {
        self.number(key).map(|number| &self.entries[number].1)
    }

    /// The entry of a cell, to be changed.
    pub(super) fn get_mut(&mut self, key: Key) -> Option<&mut V> {
        self.number(key).map(|number| &mut self.entries[number].1)
    }

    /// The entries of a cell and of those up to `reach` cells from it, in order.
    pub(super) fn near(&self, [x, y, z]: Key, reach: i32) -> impl Iterator<Item = (Key, &V)> {
        let steps = move || -i64::from(reach)..=i64::from(reach);
        let columns =
            steps().flat_map(move |i| steps().map(move |j| (x.wrapping_add(i), y.wrapping_add(j))));
        let cells = columns.flat_map(move |(x, y)| steps().map(move |k| [x, y, z.wrapping_add(k)]));
        cells.filter_map(|key| self.get(key).map(|value| (key, value)))
    }

    fn number(&self, key: Key) -> Option<usize> {
        match &self.boxed {
            Some(boxed) => boxed.number(key),
            None => self.entries.binary_search_by_key(&key, |(key, _)| *key).ok(),
        }
    }
}

impl Boxed {
    fn about<V>(entries: &[(Key, V)]) -> Option<Self> {
        let axis = |k: usize| {
            let along = || entries.iter().map(|(key, _)| key[k]);
            Some((along().min()?, along().max()?))
        };
        let ends = [axis(0)?, axis(1)?, axis(2)?];
        let low = ends.map(|(low, _)| low);
        let mut size = [0; 3];
        for (size, (low, high)) in size.iter_mut().zip(ends) {
            *size = high.checked_sub(low)?.checked_add(1)?;
        }
        let count = size.iter().try_fold(1_i64, |all, n| all.checked_mul(*n))?;
        if count > MOST_CELLS {
            return None;
        }
        let mut boxed = Self { low, size, numbers: vec![0; count as usize] };
        for (number, (key, _)) in entries.iter().enumerate() {
            if let Some(place) = boxed.place(*key) {
                boxed.numbers[place] = number as u32 + 1;
            }
        }
        Some(boxed)
    }

    fn place(&self, key: Key) -> Option<usize> {
        let [x, y, z] = [0, 1, 2].map(|k| key[k].wrapping_sub(self.low[k]));
        let [nx, ny, nz] = self.size;
        let inside = (0..nx).contains(&x) && (0..ny).contains(&y) && (0..nz).contains(&z);
        inside.then(|| ((x * ny + y) * nz + z) as usize)
    }

    fn number(&self, key: Key) -> Option<usize> {
        (self.numbers[self.place(key)?] as usize).checked_sub(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn in_a_box_and_too_far_apart_for_one_the_same_is_found() {
        let near = |x: i64, y: i64, z: i64| ([x, y, z], x + 10 * y + 100 * z);
        let close: BTreeMap<Key, i64> = [near(0, 0, 0), near(1, 0, 1), near(-2, 1, 0)].into();
        let mut far = close.clone();
        far.extend([near(1 << 40, 0, 0), near(0, -(1 << 40), 7)]);
        let (close, far) = (Cells::new(close), Cells::new(far));
        assert!(close.boxed.is_some() && far.boxed.is_none());
        for reach in [0, 1, 2] {
            for key in [[0, 0, 0], [1, 1, 1], [-3, 1, 0], [90, 90, 90]] {
                let a: Vec<_> = close.near(key, reach).collect();
                assert_eq!(a, far.near(key, reach).collect::<Vec<_>>());
                assert!(a.is_sorted());
            }
        }
        assert_eq!(close.near([0, 0, 0], 2).count(), 3);
        assert_eq!(close.get([1, 0, 1]), Some(&101));
    }
}
