//! The heel stiffener: the hidden piece round the back that holds the shape of a shoe.
//!
//! In the order of the work: `brief` (what is asked), `chart` (measuring on the wall),
//! `heights` and `limits` (what the edge may not pass), `edge` (the top edge, bent by
//! `batten`), `wall` (cut out as a `shape` and laid flat), `wall_cuts` (where they are allowed; through
//! the margin they `run_through`), `margin`, `relief`, `nicks`, `size_nicks` and `skive` (what is added to the
//! flat piece), `piece` and `words` (the drawing), `measure`, `verify`, `ankles` and `cuts_said` (what is said about it), `on_show` (what is shown of it on the last). While a mark is dragged the wall is `moving` on its `ground`.

pub mod ankle_picture;
pub mod ankles;
pub mod batten;
pub mod brief;
pub mod chart;
pub mod cuts_said;
pub mod edge;
mod ground;
pub mod heights;
pub mod limits;
pub mod margin;
pub mod measure;
mod mirror;
mod moving;
pub mod neighbour;
pub mod nicks;
pub mod on_show;
pub mod piece;
mod plane_line;
pub mod relief;
mod run_through;
mod shape;
pub mod size_nicks;
pub mod skive;
mod sliding;
pub mod strain_picture;
pub mod verify;
pub mod wall;
pub mod wall_cuts;
mod words;

use glam::DVec2;

use crate::foot::Foot;
use crate::size::Size;
use brief::Brief;
use chart::Chart;
use edge::{EdgeError, TopEdge};
use limits::Landmarks;
use margin::Margin;
use neighbour::Neighbour;
use nicks::{Nick, NickError};
use wall::{Wall, WallError};
use wall_cuts::WallCuts;

pub use ground::Ground;
pub use moving::{Moving, MovingError};

/// A stiffener, drawn, flat, and ready to be cut.
#[derive(Debug, Clone)]
pub struct Stiffener {
    /// The foot it is for.
    pub foot: Foot,
    /// What was asked.
    pub brief: Brief,
    /// The places on the last its rules speak of.
    pub landmarks: Landmarks,
    /// Whether the user placed the inside and the outside ankle.
    pub ankles_placed: (bool, bool),
    /// The top edge.
    pub edge: TopEdge,
    /// The wall, on the last and flat.
    pub wall: Wall,
    /// What cuts in the wall gain, where they were allowed.
    pub wall_cuts: Option<WallCuts>,
    /// The lasting margin, flat.
    pub margin: Margin,
    /// The nicks that tell foot, side and face.
    pub nicks: Vec<Nick>,
    /// Those that tell the size, on a piece of a range; none where they were not asked for or find no
    /// place.
    pub size_nicks: Vec<Nick>,
    /// The skive line along the top edge and the wing ends, flat.
    pub skive: Vec<DVec2>,
    /// The skive line of the margin, flat, in runs between the V's.
    pub margin_skive: Vec<Vec<DVec2>>,
}

/// Why no stiffener could be drafted.
#[derive(Debug, thiserror::Error)]
pub enum StiffenerError {
    /// The top edge could not be designed.
    #[error(transparent)]
    Edge(#[from] EdgeError),
    /// The wall could not be cut out or laid flat.
    #[error(transparent)]
    Wall(#[from] WallError),
    /// The nicks found no place.
    #[error(transparent)]
    Nicks(#[from] NickError),
}

/// Drafts the stiffener on the wall that `chart` measures, its edge no higher than `neighbours` allow,
/// which it is to serve too.
///
/// # Errors
/// When limits exclude each other, a place is missing, the surface is not sound, or the margin
/// leaves no room.
pub fn draft(
    chart: &Chart<'_, '_>,
    brief: &Brief,
    landmarks: &Landmarks,
    ankles_placed: (bool, bool),
    neighbours: &[Neighbour<'_>],
) -> Result<Stiffener, StiffenerError> {
    let edge = TopEdge::design_under_all(chart, brief, landmarks, neighbours)?;
    let wall = Wall::make(chart, &edge, brief.neutral_offset())?;
    let (wall, wall_cuts) = wall_cuts::make(wall, brief)?;
    let piece = Stiffener::about(chart.foot(), brief, landmarks, ankles_placed, edge, wall)?;
    Ok(Stiffener { wall_cuts, ..piece })
}

impl Stiffener {
    /// The piece about a wall below `edge`: with margin, nicks and skive lines.
    ///
    /// # Errors
    /// When the margin leaves no room for the nicks.
    pub fn about(
        foot: Foot,
        brief: &Brief,
        landmarks: &Landmarks,
        ankles_placed: (bool, bool),
        edge: TopEdge,
        wall: Wall,
    ) -> Result<Self, NickError> {
        let margin = Margin::draw(brief, &wall_cuts::lower_edge(&wall));
        let nicks = nicks::place(&margin, foot)?;
        let width = skive::width(brief.thickness);
        let skive = skive::inside(&wall.flat_line(&wall.free_edge), width);
        let margin_skive = margin.skive(width);
        Ok(Self {
            foot,
            brief: brief.clone(),
            landmarks: *landmarks,
            ankles_placed,
            edge,
            wall,
            wall_cuts: None,
            margin,
            nicks,
            size_nicks: Vec::new(),
            skive,
            margin_skive,
        })
    }

    /// The same piece with the nicks of `size`, where they find a place.
    pub fn with_size_nicks(self, size: Size) -> Self {
        let size_nicks = size_nicks::place(&self, size).unwrap_or_default();
        Self { size_nicks, ..self }
    }
}
