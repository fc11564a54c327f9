//! The wall of a stiffener while a mark is dragged: the same triangles, moved about on the ground
//! after the outline, and laid flat again from where they lay.

use flatten::{Flattener, Follower};
use geometry::mesh::TriMesh;
use geometry::mesh::remesh::smooth_line;
use geometry::surface::{Closest, SurfacePoint};
use glam::{DMat2, DVec2, DVec3};

use super::chart::Chart;
use super::edge::TopEdge;
use super::ground::Ground;
use super::plane_line::PlaneLine;
use super::shape::{Bounds, ROUGHNESS, Shape};
use super::sliding::{Fixed, Run, slid};
use super::wall::{self, Wall, WallError};

/// A new outline further from the ground than this, mm, has left it: well over the roughness that
/// was smoothed away, well under the distance to which the ground reaches.
const OFF_GROUND: f64 = 0.5;

/// A triangle that keeps less than this share of its area was squeezed too far.
const SQUEEZED: f64 = 0.2;

/// A wall that follows its top edge.
///
/// It lies within a few hundredths of a millimetre of the wall drafted afresh: it is for the eye
/// while the finger moves, never for the knife.
pub struct Moving<'a> {
    chart: &'a Chart<'a, 'a>,
    ground: &'a Ground,
    closest: Closest<'a>,
    shape: Shape,
    neutral: TriMesh,
    lines: Lines,
    /// The vertices of the lines.
    leaders: Vec<u32>,
    /// Where each vertex lay at the beginning, in the plane of the ground, and how far it lay from
    /// there on the last and where the piece lies: the triangles of the ground are others.
    home: Vec<DVec2>,
    off: Vec<[DVec3; 2]>,
    /// Where each vertex now lies in the plane of the ground.
    places: Vec<DVec2>,
    /// The layout to begin the next with.
    guess: Vec<DVec2>,
    /// In which triangle of the ground each vertex was found last.
    faces: Vec<u32>,
    follower: Follower,
    /// The same where the stiff lines alone lead.
    stiff_follower: Follower,
    flattener: Flattener,
    /// The wall that was shown last, and what bounds it.
    shown: Option<(Bounds, Wall)>,
}

/// How the lines of the piece are divided, and those of the ground that they run on.
struct Lines {
    feather: PlaneLine,
    centre_back: PlaneLine,
    /// The seat's place along `feather`, mm.
    seat: f64,
    /// The places of the seat in the chain of the feather edge and of the top in that of the free
    /// edge.
    seat_at: usize,
    top_at: usize,
}

/// Why a wall cannot follow. One drafted afresh, on a new ground, may.
#[derive(Debug, thiserror::Error)]
pub enum MovingError {
    /// The outline leaves the ground, or squeezes the triangles.
    #[error("the outline was moved further than the piece can follow; draft it afresh")]
    TooFar,
    /// The moved wall is none.
    #[error(transparent)]
    Wall(#[from] WallError),
}

impl<'a> Moving<'a> {
    /// Prepares `wall`, cut out of the last that `chart` measures below `edge`, to follow another
    /// edge on `ground`.
    ///
    /// # Errors
    /// When the wall does not lie on this ground, or cannot be laid flat.
    pub fn begin(
        chart: &'a Chart<'a, 'a>,
        ground: &'a Ground,
        edge: &TopEdge,
        wall: &Wall,
    ) -> Result<Self, MovingError> {
        let closest = Closest::new(ground.on_last());
        let shape = wall.shape();
        let vertices = &shape.on_last.positions;
        let home = vertices.iter().map(|p| on_ground(ground, &closest, *p));
        let home: Vec<DVec2> = home.collect::<Result<_, _>>()?;
        let lines = Lines::new(ground, &shape).ok_or(MovingError::TooFar)?;
        let mut leaders: Vec<u32> = shape.feather.clone();
        leaders.extend(&shape.centre_back[1..]);
        leaders.extend(&shape.free_edge);
        // The ends of the free edge, and its place at the top, lie on the others.
        let mut seen = vec![false; vertices.len()];
        leaders.retain(|v| !std::mem::replace(&mut seen[*v as usize], true));
        let follower = Follower::new(&shape.on_last, &leaders).map_err(WallError::from)?;
        let chains = from_seat(&shape, lines.seat_at);
        let beyond = chains.iter().flat_map(|chain| &chain[1..]);
        let stiff: Vec<u32> = chains[0][..1].iter().chain(beyond).copied().collect();
        let stiff_follower = Follower::new(&shape.on_last, &stiff).map_err(WallError::from)?;
        let mut flattener =
            Flattener::new(&wall.neutral, &wall::held(&shape)).map_err(WallError::from)?;
        let laid = flattener.flatten().map_err(WallError::from)?.points;
        let n = home.len();
        let mut moving = Self {
            chart,
            ground,
            closest,
            neutral: wall.neutral.clone(),
            lines,
            leaders,
            off: vec![[DVec3::ZERO; 2]; n],
            places: home.clone(),
            home,
            guess: laid,
            faces: vec![0; n],
            follower,
            stiff_follower,
            flattener,
            shape,
            shown: None,
        };
        moving.home = moving.targets(edge)?.plane;
        moving.place(edge)?;
        for v in 0..n {
            let [on_last, neutral] = [&wall.on_last, &wall.neutral].map(|m| m.positions[v]);
            moving.off[v] = [
                on_last - moving.shape.on_last.positions[v],
                neutral - moving.neutral.positions[v],
            ];
        }
        Ok(moving)
    }

    /// The wall below `edge`: [`Moving::place`], then [`Moving::lay_flat`].
    ///
    /// # Errors
    /// When it cannot follow, or does not lie flat.
    pub fn follow(&mut self, edge: &TopEdge) -> Result<Wall, MovingError> {
        let bounds = wall::bounds(edge);
        // The edge moves in steps of its own, and a finger often less far than one of them.
        let wall = match self.shown.take().filter(|(shown, _)| *shown == bounds) {
            Some((_, wall)) => wall,
            None => {
                self.place(edge)?;
                self.lay_flat()?
            }
        };
        self.shown = Some((bounds, wall.clone()));
        Ok(wall)
    }

    /// Moves the triangles so that they fill the outline below `edge`.
    ///
    /// # Errors
    /// When it cannot follow; the triangles then stay where they were.
    pub fn place(&mut self, edge: &TopEdge) -> Result<(), MovingError> {
        let Targets { plane: targets, free_edge } = self.targets(edge)?;
        let moves: Vec<DVec2> =
            self.leaders.iter().map(|v| targets[*v as usize] - self.home[*v as usize]).collect();
        let by = self.follower.follow(&moves);
        let places: Vec<DVec2> = self.home.iter().zip(by).map(|(home, by)| *home + by).collect();
        let twice = |at: &[DVec2], t: &[u32; 3]| {
            let [a, b, c] = t.map(|v| at[v as usize]);
            (b - a).perp_dot(c - a)
        };
        let triangles = &self.shape.on_last.triangles;
        if triangles.iter().any(|t| twice(&places, t) < SQUEEZED * twice(&self.home, t)) {
            return Err(MovingError::TooFar);
        }
        let was = self.neutral.positions.clone();
        for (v, point) in places.iter().enumerate() {
            let found = self.ground.find(*point, self.faces[v]);
            let [on_last, neutral] = self.off[v];
            self.faces[v] = found.face;
            self.shape.on_last.positions[v] = self.ground.on_last_at(&found) + on_last;
            self.neutral.positions[v] = self.ground.neutral_at(&found) + neutral;
        }
        for (v, own) in free_edge {
            let v = v as usize;
            let by = own + self.off[v][0] - self.shape.on_last.positions[v];
            self.shape.on_last.positions[v] += by;
            self.neutral.positions[v] += by;
        }
        let went: Vec<DVec2> = places.iter().zip(&self.places).map(|(p, q)| *p - *q).collect();
        let carried = carried(triangles, &self.places, &self.guess, &went);
        let moves = self.strained_as_before(&was, &carried);
        let by = self.stiff_follower.follow(&moves);
        self.guess = carried.iter().zip(by).map(|(at, by)| *at + by).collect();
        self.places = places;
        Ok(())
    }

    /// How far the vertices of the stiff lines (in the order of [`from_seat`], the seat once) must go
    /// from where `carried` has them, so that every edge is strained as in the last layout, when the
    /// vertices lay at `was`: nearly all of the work of laying them flat would go into that.
    fn strained_as_before(&self, was: &[DVec3], carried: &[DVec2]) -> Vec<DVec2> {
        let now = &self.neutral.positions;
        let mut moves = vec![DVec2::ZERO];
        for chain in from_seat(&self.shape, self.lines.seat_at) {
            let mut at = carried[chain[0] as usize];
            for side in chain.windows(2) {
                let [v, w] = [side[0], side[1]].map(|v| v as usize);
                let strained = self.guess[v].distance(self.guess[w]) / was[v].distance(was[w]);
                let way = (carried[w] - carried[v]).normalize_or_zero();
                at += way * now[v].distance(now[w]) * strained;
                moves.push(at - carried[w]);
            }
        }
        moves
    }

    /// Lays the triangles flat where they now are.
    ///
    /// # Errors
    /// When they do not lie flat.
    pub fn lay_flat(&mut self) -> Result<Wall, MovingError> {
        let laid = self
            .flattener
            .flatten_from(&self.neutral.positions, &self.guess)
            .map_err(WallError::from)?;
        self.guess.clone_from(&laid.points);
        Ok(Wall::new(self.shape.clone(), self.neutral.clone(), laid)?)
    }

    fn targets(&self, edge: &TopEdge) -> Result<Targets, MovingError> {
        let plane = |place: DVec3| on_ground(self.ground, &self.closest, place);
        let bounds = wall::bounds(edge);
        let Lines { feather, centre_back, seat, seat_at, top_at } = &self.lines;
        let mut end = [0.0; 2];
        for (end, along) in end.iter_mut().zip(bounds.ends) {
            *end = feather.nearest(plane(self.chart.feather(along))?);
        }
        let [left, right] = end;
        let surface = self.chart.surface();
        let mut free = Vec::with_capacity(bounds.free_edge.len());
        let mut top = 0;
        let last = bounds.free_edge.len() - 1;
        for (i, (along, up)) in bounds.free_edge.iter().enumerate() {
            let place = match i {
                0 => self.chart.feather(bounds.ends[1]),
                i if i == last => self.chart.feather(bounds.ends[0]),
                _ => self.chart.point(*along, *up).map_err(WallError::from)?.position(surface.mesh),
            };
            if along.abs() < bounds.free_edge[top].0.abs() {
                top = i;
            }
            free.push(place);
        }
        let on_last = smooth_line(&free, ROUGHNESS);
        let free = on_last.iter().copied().map(plane);
        let mut free: Vec<DVec2> = free.collect::<Result<_, _>>()?;
        let back = centre_back.nearest(free[top]);
        (free[0], free[top], free[last]) =
            (feather.at(right), centre_back.at(back), feather.at(left));
        let rising = PlaneLine::new(free[..=top].to_vec());
        let falling = PlaneLine::new(free[top..].to_vec());
        let mut targets = self.home.clone();
        let mut place = |chain: &[u32], run: Run<'_>, fixed: Fixed| {
            let home: Vec<DVec2> = chain.iter().map(|v| self.home[*v as usize]).collect();
            let along = slid(&home, &run, fixed);
            for (v, along) in chain.iter().zip(&along) {
                targets[*v as usize] = run.line.at(*along);
            }
            along
        };
        let Shape { feather: on_feather, centre_back: on_back, free_edge, .. } = &self.shape;
        let (seat_at, top_at) = (*seat_at, *top_at);
        let on = |line, from, to| Run { line, from, to, same: true };
        place(&on_feather[..=seat_at], on(feather, left, *seat), Fixed::End);
        place(&on_feather[seat_at..], on(feather, *seat, right), Fixed::Start);
        place(on_back, on(centre_back, 0.0, back), Fixed::Neither);
        let along = |line| Run { line, from: 0.0, to: PlaneLine::length(line), same: false };
        let up = place(&free_edge[..=top_at], along(&rising), Fixed::End);
        let down = place(&free_edge[top_at..], along(&falling), Fixed::Start);
        let from_right = up.iter().map(|along| rising.between(*along));
        let from_top = down.iter().map(|along| falling.between(*along)).map(|(i, t)| (top + i, t));
        let passed = from_right.chain(from_top.skip(1));
        let own = passed.map(|(i, share)| on_last[i].lerp(on_last[(i + 1).min(last)], share));
        let own = free_edge.iter().copied().zip(own).collect();
        Ok(Targets { plane: targets, free_edge: own })
    }
}

/// Where the vertices of the lines go.
struct Targets {
    /// Of every vertex, in the plane of the ground; those on no line stay at home.
    plane: Vec<DVec2>,
    /// The vertices of the free edge and their places on the last: the triangles of the ground cut
    /// the corner of a rounded feather edge by some hundredths of a millimetre.
    free_edge: Vec<(u32, DVec3)>,
}

impl Lines {
    fn new(ground: &Ground, shape: &Shape) -> Option<Self> {
        let (feather, centre_back) = (ground.feather(), ground.centre_back());
        let seat = feather.nearest(centre_back.at(0.0));
        let find = |chain: &[u32], v: Option<&u32>| chain.iter().position(|w| Some(w) == v);
        let seat_at = find(&shape.feather, shape.centre_back.first())?;
        let top_at = find(&shape.free_edge, shape.centre_back.last())?;
        Some(Self { feather, centre_back, seat, seat_at, top_at })
    }
}

/// The stiff lines from the seat on, which is in each: the feather edge to the left and to the right,
/// and the centre back.
fn from_seat(shape: &Shape, seat_at: usize) -> [Vec<u32>; 3] {
    let left = shape.feather[..=seat_at].iter().rev().copied().collect();
    [left, shape.feather[seat_at..].to_vec(), shape.centre_back.clone()]
}

/// A layout after the vertices went by `went` in the plane of the ground: each goes as the map from
/// there to the layout turns and stretches about it, so that it slides along the layout.
fn carried(
    triangles: &[[u32; 3]],
    places: &[DVec2],
    layout: &[DVec2],
    went: &[DVec2],
) -> Vec<DVec2> {
    let mut maps = vec![(DMat2::ZERO, 0.0); places.len()];
    for t in triangles {
        let sides = |at: &[DVec2]| {
            let [a, b, c] = t.map(|v| at[v as usize]);
            DMat2::from_cols(b - a, c - a)
        };
        let here = sides(places);
        let twice = here.determinant();
        // The inverse times the area, which never fails.
        let adjugate = DMat2::from_cols(
            DVec2::new(here.y_axis.y, -here.x_axis.y),
            DVec2::new(-here.y_axis.x, here.x_axis.x),
        );
        let map = sides(layout) * adjugate;
        for v in t {
            maps[*v as usize].0 += map;
            maps[*v as usize].1 += twice;
        }
    }
    let after = layout.iter().zip(maps).zip(went);
    after.map(|((at, (map, area)), by)| *at + map * *by / area).collect()
}

/// The place nearest to one in space, in the plane of the ground.
fn on_ground(ground: &Ground, closest: &Closest<'_>, place: DVec3) -> Result<DVec2, MovingError> {
    let near = closest.to(place, 0.0).ok_or(MovingError::TooFar)?;
    let off = SurfacePoint::position(&near, ground.on_last()).distance(place);
    if off > OFF_GROUND { Err(MovingError::TooFar) } else { Ok(ground.in_plane(&near)) }
}
