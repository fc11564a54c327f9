//! The sparse equations of all steps: one pattern, one symbolic factorisation, many values.
//!
//! Unknowns are the two coordinates of each vertex, interleaved; the matrix is symmetric and
//! has a 2x2 block for each vertex and each edge. Only the lower triangle is stored.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};
use faer::{Conj, MatMut, Par, Side};
use glam::{DMat2, DVec2};

use crate::neighbours::Neighbours;

/// Where the block of an edge lies: its column is the lower of the two vertices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Slot {
    /// First entry in the column of the lower vertex's x.
    x: u32,
    /// First entry in the column of its y.
    y: u32,
}

/// A symmetric sparse matrix on the vertices and edges of a mesh, with its factorisation.
pub(crate) struct System {
    pattern: SymbolicSparseColMat<u32>,
    symbolic: SymbolicCholesky<u32>,
    values: Vec<f64>,
    factor: Vec<f64>,
    scratch: MemBuffer,
    /// Per triangle, the slots of its edges 01, 12, 20.
    face_slots: Vec<[Slot; 3]>,
}

impl System {
    /// The pattern of a mesh of `vertex_count` vertices and of `pairs` of vertices that are
    /// joined besides its edges, analysed.
    pub(crate) fn new(
        vertex_count: usize,
        triangles: &[[u32; 3]],
        pairs: &[(u32, u32)],
    ) -> Result<Self, String> {
        let neighbours = Neighbours::new(vertex_count, triangles, pairs);
        let pattern = lower_triangle(&neighbours);
        let symbolic = factorize_symbolic_cholesky(
            // The analysis wants the upper triangle where the order is that of the matrix itself.
            upper_triangle(&neighbours).as_ref(),
            Side::Upper,
            SymmetricOrdering::Identity,
            CholeskySymbolicParams {
                // A surface of any size is faster in blocks than entry by entry.
                supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
                ..Default::default()
            },
        )
        .map_err(|e| format!("{e:?}"))?;
        let need = symbolic
            .factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default())
            .or(symbolic.solve_in_place_scratch::<f64>(1, Par::Seq));
        let mut system = Self {
            values: vec![0.0; pattern.row_idx().len()],
            factor: vec![0.0; symbolic.len_val()],
            scratch: MemBuffer::try_new(need).map_err(|e| format!("{e:?}"))?,
            face_slots: Vec::new(),
            pattern,
            symbolic,
        };
        system.face_slots = triangles
            .iter()
            .map(|t| {
                [0, 1, 2].map(|k| {
                    system.slot(t[k], t[(k + 1) % 3]).expect("every side of a triangle is an edge")
                })
            })
            .collect();
        Ok(system)
    }

    /// Where the edge between two vertices is stored, or `None` if there is no such edge.
    pub(crate) fn slot(&self, a: u32, b: u32) -> Option<Slot> {
        let (low, high) = ordered(a, b);
        let starts = self.pattern.col_ptr();
        let start = *starts.get(2 * low as usize)?;
        let end = *starts.get(2 * low as usize + 1)?;
        let rows = &self.pattern.row_idx()[start as usize..end as usize];
        let at = rows.binary_search(&(2 * high)).ok()? as u32;
        // The column of y lacks one row of the vertex's own block.
        (at >= 2).then(|| Slot { x: start + at, y: end + at - 1 })
    }

    /// The slots of the edges 01, 12, 20 of triangle `face`.
    pub(crate) fn face_slots(&self, face: usize) -> [Slot; 3] {
        self.face_slots[face]
    }

    /// Sets every entry to 0.
    pub(crate) fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds a symmetric block on the diagonal.
    pub(crate) fn add_vertex(&mut self, v: u32, block: DMat2) {
        let starts = self.pattern.col_ptr();
        let x = starts[2 * v as usize] as usize;
        let y = starts[2 * v as usize + 1] as usize;
        self.values[x] += block.x_axis.x;
        self.values[x + 1] += block.x_axis.y;
        self.values[y] += block.y_axis.y;
    }

    /// Adds the block with the rows of `row` and the columns of `column` at the slot of that
    /// edge, and so its transpose on the other side of the diagonal.
    pub(crate) fn add_edge(&mut self, slot: Slot, row: u32, column: u32, block: DMat2) {
        let block = if row > column { block } else { block.transpose() };
        let (x, y) = (slot.x as usize, slot.y as usize);
        self.values[x] += block.x_axis.x;
        self.values[x + 1] += block.x_axis.y;
        self.values[y] += block.y_axis.x;
        self.values[y + 1] += block.y_axis.y;
    }

    /// Adds, for every side of the `triangles` that this system is made of, the squared difference
    /// of its two ends: an inner edge is met from both sides and counts twice.
    pub(crate) fn add_differences(&mut self, triangles: &[[u32; 3]]) {
        for (face, t) in triangles.iter().enumerate() {
            let slots = self.face_slots(face);
            for k in 0..3 {
                let (i, j) = (t[k], t[(k + 1) % 3]);
                self.add_vertex(i, DMat2::IDENTITY);
                self.add_vertex(j, DMat2::IDENTITY);
                self.add_edge(slots[k], i, j, -DMat2::IDENTITY);
            }
        }
    }

    /// Adds `shift` to every diagonal entry.
    pub(crate) fn shift_diagonal(&mut self, shift: f64) {
        let starts = self.pattern.col_ptr();
        for &start in &starts[..starts.len() - 1] {
            self.values[start as usize] += shift;
        }
    }

    /// Largest diagonal entry.
    pub(crate) fn largest_diagonal(&self) -> f64 {
        let starts = self.pattern.col_ptr();
        starts[..starts.len() - 1].iter().map(|&s| self.values[s as usize]).fold(0.0, f64::max)
    }

    /// Takes the unknowns that `pinned` marks out of the equations `matrix x = right`, given
    /// their values in `fixed`: their rows become `x = fixed`.
    pub(crate) fn pin(&mut self, pinned: &[[bool; 2]], fixed: &[DVec2], right: &mut [DVec2]) {
        let is_pinned = |i: usize| pinned[i / 2][i % 2];
        let starts = self.pattern.col_ptr();
        let rows = self.pattern.row_idx();
        for (column, range) in starts.windows(2).enumerate() {
            let range = range[0] as usize..range[1] as usize;
            for (&row, value) in rows[range.clone()].iter().zip(&mut self.values[range]) {
                let row = row as usize;
                match (is_pinned(row), is_pinned(column)) {
                    (false, false) => continue,
                    (true, true) => {}
                    (false, true) => {
                        right[row / 2][row % 2] -= *value * fixed[column / 2][column % 2];
                    }
                    (true, false) => {
                        right[column / 2][column % 2] -= *value * fixed[row / 2][row % 2];
                    }
                }
                *value = if row == column { 1.0 } else { 0.0 };
            }
        }
        for (v, pins) in pinned.iter().enumerate() {
            for k in 0..2 {
                if pins[k] {
                    right[v][k] = fixed[v][k];
                }
            }
        }
    }

    /// Factors the matrix; `Err` says why when it is not positive definite.
    pub(crate) fn factor(&mut self) -> Result<(), String> {
        let matrix = SparseColMatRef::new(self.pattern.as_ref(), &self.values);
        self.symbolic
            .factorize_numeric_llt(
                &mut self.factor,
                matrix,
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut self.scratch),
                Default::default(),
            )
            .map(|_| ())
            .map_err(|e| format!("{e:?}"))
    }

    /// Solves with the last successful factorisation.
    pub(crate) fn solve(&mut self, right: &[DVec2]) -> Vec<DVec2> {
        let mut x: Vec<f64> = right.iter().flat_map(|p| [p.x, p.y]).collect();
        let n = x.len();
        LltRef::new(&self.symbolic, &self.factor).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(&mut x, n, 1),
            Par::Seq,
            MemStack::new(&mut self.scratch),
        );
        x.chunks_exact(2).map(|c| DVec2::new(c[0], c[1])).collect()
    }
}

/// The pattern of the lower triangle: in the columns of each vertex its own block and those of
/// the neighbours after it.
fn lower_triangle(neighbours: &Neighbours) -> SymbolicSparseColMat<u32> {
    let count = neighbours.vertex_count() as u32;
    pattern(count, |v, row| {
        let own = 2 * v + row..2 * v + 2;
        own.chain(neighbours.after(v).iter().flat_map(|w| [2 * w, 2 * w + 1]))
    })
}

/// The pattern of the upper triangle, the same with rows and columns changed over.
fn upper_triangle(neighbours: &Neighbours) -> SymbolicSparseColMat<u32> {
    let count = neighbours.vertex_count() as u32;
    pattern(count, |v, column| {
        let before = neighbours.before(v).iter().flat_map(|w| [2 * w, 2 * w + 1]);
        before.chain(2 * v..2 * v + column + 1)
    })
}

/// A pattern from the rows in the columns of each vertex's two unknowns.
fn pattern<I: Iterator<Item = u32>>(
    vertex_count: u32,
    rows_of: impl Fn(u32, u32) -> I,
) -> SymbolicSparseColMat<u32> {
    let mut starts = vec![0];
    let mut rows = Vec::new();
    for v in 0..vertex_count {
        for which in [0, 1] {
            rows.extend(rows_of(v, which));
            starts.push(rows.len() as u32);
        }
    }
    let n = 2 * vertex_count as usize;
    SymbolicSparseColMat::new_checked(n, n, starts, None, rows)
}

fn ordered(a: u32, b: u32) -> (u32, u32) {
    if a < b { (a, b) } else { (b, a) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surfaces;

    impl System {
        /// Both triangles of the matrix, row by row.
        pub(crate) fn dense(&self) -> Vec<Vec<f64>> {
            let n = self.pattern.ncols();
            let mut dense = vec![vec![0.0; n]; n];
            for (column, range) in self.pattern.col_ptr().windows(2).enumerate() {
                for at in range[0] as usize..range[1] as usize {
                    let row = self.pattern.row_idx()[at] as usize;
                    dense[row][column] = self.values[at];
                    dense[column][row] = self.values[at];
                }
            }
            dense
        }
    }

    #[test]
    fn solves_what_was_assembled_with_pins() {
        let mesh = surfaces::saddle(4, 4);
        let n = mesh.positions.len();
        let mut system = System::new(n, &mesh.triangles, &[]).unwrap();
        for (face, t) in mesh.triangles.iter().enumerate() {
            let slots = system.face_slots(face);
            for k in 0..3 {
                let (i, j) = (t[k], t[(k + 1) % 3]);
                let block = DMat2::from_cols(DVec2::new(2.0, 0.5), DVec2::new(0.5, 1.0));
                system.add_vertex(i, block * 1.5);
                system.add_vertex(j, block * 1.5);
                system.add_edge(
                    slots[k],
                    i,
                    j,
                    DMat2::from_cols(DVec2::new(-1.0, 0.3), DVec2::NEG_Y),
                );
            }
        }
        let before = system.dense();
        let mut pinned = vec![[false; 2]; n];
        pinned[5] = [true, false];
        pinned[9] = [true, true];
        let mut fixed = vec![DVec2::ZERO; n];
        fixed[5].x = 3.0;
        fixed[9] = DVec2::new(-1.0, 2.0);
        let right: Vec<DVec2> = (0..n).map(|i| DVec2::new(i as f64, 1.0 - i as f64)).collect();
        let mut pinned_right = right.clone();
        system.pin(&pinned, &fixed, &mut pinned_right);
        system.factor().unwrap();
        let x = system.solve(&pinned_right);
        assert_eq!((x[5].x, x[9]), (3.0, DVec2::new(-1.0, 2.0)));
        for (row, entries) in before.iter().enumerate() {
            if !pinned[row / 2][row % 2] {
                let sum: f64 = entries.iter().enumerate().map(|(c, m)| m * x[c / 2][c % 2]).sum();
                assert!((sum - right[row / 2][row % 2]).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn an_indefinite_matrix_is_reported() {
        let mesh = surfaces::saddle(3, 3);
        let mut system = System::new(9, &mesh.triangles, &[]).unwrap();
        system.shift_diagonal(1.0);
        assert!(system.factor().is_ok());
        system.shift_diagonal(-2.0);
        assert!(system.factor().is_err());
    }
}
