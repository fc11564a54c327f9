//! Which vertices have equations in common.

/// For each vertex the others it is joined to, ascending, each once.
pub(crate) struct Neighbours {
    starts: Vec<u32>,
    list: Vec<u32>,
}

impl Neighbours {
    /// Those joined by a side of a triangle, or as one of `pairs`.
    pub(crate) fn new(vertex_count: usize, triangles: &[[u32; 3]], pairs: &[(u32, u32)]) -> Self {
        let sides = || {
            let of_triangles =
                triangles.iter().flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]);
            of_triangles.chain(pairs.iter().copied()).filter(|(a, b)| a != b)
        };
        let mut starts = vec![0u32; vertex_count + 1];
        for (a, b) in sides() {
            starts[a as usize + 1] += 1;
            starts[b as usize + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        let mut list = vec![0u32; starts[vertex_count] as usize];
        for (a, b) in sides() {
            for (from, to) in [(a, b), (b, a)] {
                list[next[from as usize] as usize] = to;
                next[from as usize] += 1;
            }
        }
        // Inner edges were met from both sides: sort each run and close up the list.
        let mut end = 0;
        for v in 0..vertex_count {
            let run = starts[v] as usize..starts[v + 1] as usize;
            list[run.clone()].sort_unstable();
            starts[v] = end as u32;
            let own = end;
            for i in run {
                if end == own || list[end - 1] != list[i] {
                    list[end] = list[i];
                    end += 1;
                }
            }
        }
        starts[vertex_count] = end as u32;
        list.truncate(end);
        Self { starts, list }
    }

    pub(crate) fn vertex_count(&self) -> usize {
        self.starts.len() - 1
    }

    /// Where the run of vertex `v` begins in the list of all runs; for the count of vertices,
    /// where the last one ends.
    pub(crate) fn start(&self, v: usize) -> u32 {
        self.starts[v]
    }

    pub(crate) fn of(&self, v: u32) -> &[u32] {
        &self.list[self.starts[v as usize] as usize..self.starts[v as usize + 1] as usize]
    }

    /// The neighbours of `v` that come after it.
    pub(crate) fn after(&self, v: u32) -> &[u32] {
        let own = self.of(v);
        &own[own.partition_point(|w| *w < v)..]
    }

    /// The neighbours of `v` that come before it.
    pub(crate) fn before(&self, v: u32) -> &[u32] {
        let own = self.of(v);
        &own[..own.partition_point(|w| *w < v)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_neighbour_once_in_order() {
        let triangles = [[0, 1, 2], [2, 1, 3]];
        let neighbours = Neighbours::new(5, &triangles, &[(0, 3), (4, 4), (1, 0)]);
        let all: Vec<&[u32]> = (0..5).map(|v| neighbours.of(v)).collect();
        assert_eq!(all, [&[1, 2, 3][..], &[0, 2, 3], &[0, 1, 3], &[0, 1, 2], &[]]);
        assert_eq!((neighbours.before(2), neighbours.after(2)), (&[0, 1][..], &[3][..]));
    }
}
