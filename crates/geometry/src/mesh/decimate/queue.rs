//! Edges in the order of their cost, roughly: a heap of millions waits for memory most of its time.

use std::collections::VecDeque;

/// Bits of the cost that tell one shelf from the next: those of the exponent of an f32, and three
/// more, so that the costs on one shelf differ by an eighth at most.
const BITS: u32 = 11;

/// An edge that may be collapsed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    /// The ends, the smaller first.
    pub(super) ends: [u32; 2],
    /// How often the ends had moved when the cost was found.
    pub(super) moves: u32,
}

/// Shelves of edges of about the same cost, each first in, first out.
pub(super) struct Queue {
    shelves: Vec<VecDeque<Edge>>,
    /// No lower shelf has anything on it.
    lowest: usize,
}

impl Queue {
    pub(super) fn new() -> Self {
        Self { shelves: vec![VecDeque::new(); 1 << BITS], lowest: 0 }
    }

    /// Puts an edge onto its shelf; the cost is not negative.
    pub(super) fn push(&mut self, cost: f64, edge: Edge) {
        // The sign, which is 0, goes off at the left; larger numbers have larger bits.
        let shelf = ((cost.max(0.0) as f32).to_bits() << 1 >> (32 - BITS)) as usize;
        self.shelves[shelf].push_back(edge);
        self.lowest = self.lowest.min(shelf);
    }

    /// The edge that came first onto the lowest shelf.
    pub(super) fn pop(&mut self) -> Option<Edge> {
        while let Some(shelf) = self.shelves.get_mut(self.lowest) {
            if let Some(edge) = shelf.pop_front() {
                return Some(edge);
            }
            self.lowest += 1;
        }
        None
    }
}
