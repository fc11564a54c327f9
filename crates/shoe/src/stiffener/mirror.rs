//! The stiffener for the other foot of an even pair: the mirror image, point for point.

use flatten::cuts::Lips;
use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};

use super::Stiffener;
use super::edge::{TopEdge, WingEnd};
use super::limits::Ceiling;
use super::nicks::NickError;
use super::wall::Wall;

impl Stiffener {
    /// The piece for the other foot, on the mirror image of the last. Inside stays inside. Nicks that
    /// tell the size are left out.
    ///
    /// # Errors
    /// When its margin has no room for the nicks of the other foot.
    pub fn mirrored(&self) -> Result<Self, NickError> {
        let edge = mirrored_edge(&self.edge);
        let wall = mirrored_wall(&self.wall);
        let Self { foot, brief, landmarks, ankles_placed, wall_cuts, .. } = self;
        let piece = Self::about(foot.other(), brief, landmarks, *ankles_placed, edge, wall)?;
        Ok(Self { wall_cuts: wall_cuts.clone(), ..piece })
    }
}

fn mirrored_edge(edge: &TopEdge) -> TopEdge {
    let [left, right] = edge.ends.map(|end| WingEnd { along: -end.along, ..end });
    let backwards = |values: &[f64]| values.iter().rev().copied().collect::<Vec<f64>>();
    let ceiling = |ceiling: &Ceiling| Ceiling {
        drawn: backwards(&ceiling.drawn),
        borders: ceiling.borders.iter().rev().map(|(along, drawn)| (-along, *drawn)).collect(),
        ..ceiling.clone()
    };
    TopEdge {
        ends: [right, left],
        ceilings: edge.ceilings.iter().map(ceiling).collect(),
        samples: edge.samples.iter().rev().map(|along| -along).collect(),
        heights: backwards(&edge.heights),
        ..edge.clone()
    }
}

fn mirrored_wall(wall: &Wall) -> Wall {
    let mesh = |mesh: &TriMesh| TriMesh {
        positions: mesh.positions.iter().map(|p| DVec3::new(p.x, -p.y, p.z)).collect(),
        triangles: mesh.triangles.iter().map(|[a, b, c]| [*a, *c, *b]).collect(),
    };
    let backwards = |chain: &[u32]| chain.iter().rev().copied().collect::<Vec<u32>>();
    // Seen from outside the left lip of a cut is the right one of its image.
    let lips = |lips: &Lips| Lips { left: lips.right.clone(), right: lips.left.clone() };
    Wall {
        on_last: mesh(&wall.on_last),
        neutral: mesh(&wall.neutral),
        flat: wall.flat.iter().map(|p| DVec2::new(-p.x, p.y)).collect(),
        feather: backwards(&wall.feather),
        free_edge: backwards(&wall.free_edge),
        cuts: wall.cuts.iter().rev().map(lips).collect(),
        ..wall.clone()
    }
}
