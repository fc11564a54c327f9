//! The last seen from one side: its shaded surface, and which points of it are in sight.

use geometry::drawing::{Area, Item};
use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};

/// From where it is looked at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Camera {
    /// What runs to the right on paper, in the last frame.
    pub(super) right: DVec3,
    /// The direction of the glance.
    pub(super) ahead: DVec3,
}

/// Side of a cell in which the nearest depth is kept, mm.
const CELL: f64 = 1.0;
/// A point this much behind the surface still counts as on it, mm: the surface of the picture
/// may be coarser than the last.
const BEHIND: f64 = 3.5;
/// Lightest and darkest grey; black lines and letters stay readable on both.
const GREYS: (f64, f64) = (168.0, 246.0);
/// Steps between them.
const STEPS: f64 = 14.0;
/// Grey of the inner side of an open last.
const INNER: [u8; 3] = [140, 140, 140];

/// A last seen from one side.
pub(super) struct View {
    camera: Camera,
    /// Lower left corner, mm in the view.
    low: DVec2,
    high: DVec2,
    columns: usize,
    /// Depth of the nearest surface of each cell, row by row.
    depth: Vec<f64>,
}

impl View {
    pub(super) fn new(mesh: &TriMesh, camera: Camera) -> Self {
        let flat: Vec<DVec2> = mesh.positions.iter().map(|p| camera.flat(*p)).collect();
        let start = flat.first().copied().unwrap_or_default();
        let (low, high) = flat.iter().fold((start, start), |(l, h), p| (l.min(*p), h.max(*p)));
        let columns = ((high.x - low.x) / CELL).ceil() as usize + 1;
        let rows = ((high.y - low.y) / CELL).ceil() as usize + 1;
        let mut depth = vec![f64::INFINITY; columns * rows];
        for triangle in &mesh.triangles {
            let corners = triangle.map(|v| (flat[v as usize] - low) / CELL);
            let depths = triangle.map(|v| mesh.positions[v as usize].dot(camera.ahead));
            let from = corners[0].min(corners[1]).min(corners[2]).floor();
            let to = corners[0].max(corners[1]).max(corners[2]).ceil();
            for row in from.y as usize..=(to.y as usize).min(rows - 1) {
                for column in from.x as usize..=(to.x as usize).min(columns - 1) {
                    let at = DVec2::new(column as f64, row as f64);
                    if let Some(weights) = weights(corners, at) {
                        let here = (0..3).map(|k| weights[k] * depths[k]).sum();
                        let cell = &mut depth[row * columns + column];
                        *cell = cell.min(here);
                    }
                }
            }
        }
        Self { camera, low, high, columns, depth }
    }

    /// Smallest and largest place in the view, mm.
    pub(super) fn bounds(&self) -> (DVec2, DVec2) {
        (self.low, self.high)
    }

    /// Where a point of the last is seen, mm.
    pub(super) fn flat(&self, p: DVec3) -> DVec2 {
        self.camera.flat(p)
    }

    /// Whether nothing of the last lies before a point of it.
    pub(super) fn in_sight(&self, p: DVec3) -> bool {
        let at = (self.flat(p) - self.low) / CELL;
        let (column, row) = (at.x.round(), at.y.round());
        if column < 0.0 || row < 0.0 || column as usize >= self.columns {
            return true;
        }
        let cell = self.depth.get(row as usize * self.columns + column as usize);
        cell.is_none_or(|nearest| p.dot(self.camera.ahead) <= nearest + BEHIND)
    }

    /// The shaded surface, what is hidden left out, from back to front; `place` puts it on
    /// paper.
    pub(super) fn surface(
        &self,
        mesh: &TriMesh,
        normals: &[DVec3],
        place: impl Fn(DVec3) -> DVec2,
    ) -> Vec<Item> {
        let light =
            (self.camera.up() * 0.75 - self.camera.ahead - self.camera.right * 0.45).normalize();
        let mut seen: Vec<(f64, usize, Area)> = Vec::new();
        for (f, triangle) in mesh.triangles.iter().enumerate() {
            let corners = triangle.map(|v| mesh.positions[v as usize]);
            let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
            if !self.in_sight(middle) {
                continue;
            }
            let facing = (corners[1] - corners[0]).cross(corners[2] - corners[0]);
            let color = if facing.dot(self.camera.ahead) >= 0.0 {
                // A wall seen edge on is its own outline; further round it is an inner side.
                if facing.normalize_or_zero().dot(self.camera.ahead) < 0.3 {
                    continue;
                }
                INNER
            } else {
                let normal: DVec3 = triangle.iter().map(|v| normals[*v as usize]).sum();
                let bright = normal.normalize_or_zero().dot(light).max(0.0);
                let step = (bright * STEPS).round() / STEPS;
                [(GREYS.0 + (GREYS.1 - GREYS.0) * step) as u8; 3]
            };
            let outline = corners.map(&place).to_vec();
            seen.push((middle.dot(self.camera.ahead), f, Area { outline, color }));
        }
        seen.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        seen.into_iter().map(|(.., area)| Item::Area(area)).collect()
    }

    /// The stretches of a line on the last that are in sight; `closed` joins its ends.
    pub(super) fn visible(&self, line: &[DVec3], closed: bool) -> Vec<Vec<DVec3>> {
        let n = line.len();
        let count = if closed { n } else { n.saturating_sub(1) };
        let mut runs: Vec<Vec<DVec3>> = Vec::new();
        let mut open = false;
        let mut add = |p: DVec3| {
            let seen = self.in_sight(p);
            match (seen, open, runs.last_mut()) {
                (true, true, Some(run)) => run.push(p),
                (true, ..) => runs.push(vec![p]),
                _ => {}
            }
            open = seen;
        };
        for i in 0..count {
            let (a, b) = (line[i], line[(i + 1) % n]);
            let parts = (a.distance(b) / 1.5).ceil().max(1.0) as usize;
            for k in 0..parts {
                add(a.lerp(b, k as f64 / parts as f64));
            }
        }
        if let Some(last) = if closed { line.first() } else { line.last() } {
            add(*last);
        }
        // A scrap is a tape's far side peeping over an edge.
        runs.retain(|run| run.len() > 3);
        runs
    }
}

impl Camera {
    fn up(&self) -> DVec3 {
        self.right.cross(self.ahead)
    }

    fn flat(&self, p: DVec3) -> DVec2 {
        DVec2::new(p.dot(self.right), p.dot(self.up()))
    }
}

/// Weights of the corners of a triangle at a point, or `None` outside of it.
fn weights([a, b, c]: [DVec2; 3], at: DVec2) -> Option<[f64; 3]> {
    let parts = [(b - at).perp_dot(c - at), (c - at).perp_dot(a - at), (a - at).perp_dot(b - at)];
    let whole: f64 = parts.iter().sum();
    if whole == 0.0 || parts.iter().any(|p| p * whole < 0.0) {
        return None;
    }
    Some(parts.map(|p| p / whole))
}
