//! The wall of the last as a pattern maker measures it: along the feather line, and up from it
//! with a ruler laid square to it.
//!
//! `along` is the length along the feather line from the seat, mm, positive towards the
//! wearer's right (to the right, seen from behind); `up` is the length over the surface from
//! the feather line as found on the mesh, in the plane square to it and without the scan's
//! roughness, mm.

use std::f64::consts::PI;

use geometry::mesh::remesh::smooth_line;
use geometry::surface::{Closest, Surface, SurfacePoint, Walk, WalkError};
use glam::DVec3;

use super::shape::ROUGHNESS;
use crate::foot::{Foot, Side};

/// Half the lengths of feather line over which its direction is taken and averaged, mm: longer
/// than the triangles of a scan, shorter than the bends of a seat. One length alone would let
/// the ruler swing with every corner of the mesh.
const DIRECTION_REACHES: [f64; 6] = [2.0, 4.0, 6.0, 8.0, 10.0, 12.0];

/// How much a ruler set on the feather line looks outward against upward: it tells the wall
/// from a bottom that rises inward by up to 35 degrees, and from walls that lean in by as much
/// as 55.
const OUTWARD: f64 = 0.7;

/// Share of an edge or triangle below which a point counts as lying on its corner or side.
const ON_CORNER: f64 = 1e-4;

/// Thinned scans have slivers folded over along the feather line. Whether a ruler laid there goes
/// up the wall is judged this far on, mm.
const PAST_SLIVERS: f64 = 0.5;

/// Why a place of the wall could not be found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChartError {
    /// The feather line has too few points to measure along.
    #[error("the feather line has {0} points; it needs at least 16 round the bottom")]
    FeatherTooShort(usize),
    /// The wall is not as high as asked.
    #[error(
        "{along:.0} mm from the centre back the last is not high enough: {cause}; scan more of the last, or lower the stiffener"
    )]
    TooHigh {
        /// Where along the feather line, mm.
        along: f64,
        /// What the walk said.
        cause: WalkError,
    },
    /// The feather line does not come by this place.
    #[error(
        "the feather line does not reach {along_axis:.1} mm forward of the seat on the {side}; check the joint marks"
    )]
    NotReached {
        /// Place along the axis, mm.
        along_axis: f64,
        /// The side.
        side: Side,
    },
}

/// Finds places on the wall.
pub struct Chart<'s, 'm> {
    surface: &'s Surface<'m>,
    closest: Closest<'m>,
    foot: Foot,
    /// Ascending `along`, and the points of the feather line there.
    line: Vec<(f64, DVec3)>,
    /// The direction of the feather line at even steps from the first point of the line, as
    /// rulers use it: angle in plan (without jumps) and angle of the rise, radians.
    directions: Vec<(f64, f64)>,
}

/// Step between the directions, mm.
const DIRECTION_STEP: f64 = 1.0;

/// In a hollow the feather line's direction may turn no faster than on a circle of this radius,
/// mm: rulers square to a tighter one would meet below the top edge. Where it does turn faster,
/// as on the arch of a foot, the rulers stand a little aslant.
const TIGHTEST_HOLLOW: f64 = 90.0;

impl<'s, 'm> Chart<'s, 'm> {
    /// A chart of the wall of a last in the last frame. `feather` is the feather line: closed,
    /// on the surface, from the seat round by the inside.
    ///
    /// # Errors
    /// When the feather line has too few points.
    pub fn new(
        surface: &'s Surface<'m>,
        feather: &[DVec3],
        foot: Foot,
    ) -> Result<Self, ChartError> {
        if feather.len() < 16 {
            return Err(ChartError::FeatherTooShort(feather.len()));
        }
        let mut medial = Vec::new();
        let mut along = 0.0;
        for pair in feather.windows(2) {
            along += pair[0].distance(pair[1]);
            medial.push((along, pair[1]));
        }
        let whole = along + feather[feather.len() - 1].distance(feather[0]);
        // Each side up to the middle of the way round: the toe lies there, no wing does.
        let sign = if foot.right_side() == Side::Medial { 1.0 } else { -1.0 };
        let mut line: Vec<(f64, DVec3)> = vec![(0.0, feather[0])];
        for (along, place) in medial {
            let signed = if along <= whole / 2.0 { along } else { along - whole };
            line.push((sign * signed, place));
        }
        line.sort_by(|a, b| a.0.total_cmp(&b.0));
        line.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9);
        let mut chart = Self {
            surface,
            closest: Closest::new(surface.mesh),
            foot,
            line,
            directions: Vec::new(),
        };
        chart.directions = chart.steady_directions();
        Ok(chart)
    }

    /// The foot the last is for.
    pub fn foot(&self) -> Foot {
        self.foot
    }

    /// The surface charted.
    pub fn surface(&self) -> &'s Surface<'m> {
        self.surface
    }

    /// The sign of `along` on a side.
    pub fn sign(&self, side: Side) -> f64 {
        if self.foot.right_side() == side { 1.0 } else { -1.0 }
    }

    /// The place on the feather line at `along`.
    pub fn feather(&self, along: f64) -> DVec3 {
        let i = self.line.partition_point(|(s, _)| *s <= along).clamp(1, self.line.len() - 1);
        let ((s0, p0), (s1, p1)) = (self.line[i - 1], self.line[i]);
        p0.lerp(p1, ((along - s0) / (s1 - s0)).clamp(0.0, 1.0))
    }

    /// The points of the feather line strictly between two places, ascending, with `along`.
    pub fn feather_between(&self, from: f64, to: f64) -> &[(f64, DVec3)] {
        let first = self.line.partition_point(|(s, _)| *s <= from);
        let last = self.line.partition_point(|(s, _)| *s < to);
        &self.line[first..last.max(first)]
    }

    /// The direction of the feather line at `along`, towards the wearer's right at the back:
    /// averaged, and steadied in tight hollows.
    pub fn direction(&self, along: f64) -> DVec3 {
        let last = self.directions.len() - 1;
        let place = ((along - self.line[0].0) / DIRECTION_STEP).clamp(0.0, last as f64);
        let i = (place as usize).min(last.saturating_sub(1));
        let share = place - i as f64;
        let (a, b) = (self.directions[i], self.directions[(i + 1).min(last)]);
        let (angle, rise) = (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share);
        DVec3::new(angle.cos() * rise.cos(), angle.sin() * rise.cos(), rise.sin())
    }

    fn steady_directions(&self) -> Vec<(f64, f64)> {
        let first = self.line[0].0;
        let length = self.line[self.line.len() - 1].0 - first;
        let count = (length / DIRECTION_STEP) as usize + 1;
        let (mut angles, mut rises): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
        for i in 0..count {
            let along = first + i as f64 * DIRECTION_STEP;
            let across = |reach: f64| self.feather(along + reach) - self.feather(along - reach);
            let raw: DVec3 = DIRECTION_REACHES.map(across).into_iter().sum();
            let flat = raw.truncate();
            let mut angle = flat.to_angle();
            if let Some(before) = angles.last() {
                angle = before + (angle - before + PI).rem_euclid(2.0 * PI) - PI;
            }
            angles.push(angle);
            rises.push(-raw.z.atan2(flat.length()));
        }
        // Rulers meet where the line turns inward in plan, and where it turns upward.
        for values in [&mut angles, &mut rises] {
            steady(values, -DIRECTION_STEP / TIGHTEST_HOLLOW);
        }
        angles.into_iter().zip(rises.into_iter().map(|fall| -fall)).collect()
    }

    /// The nearest point of the surface.
    pub fn on_surface(&self, place: DVec3) -> Option<SurfacePoint> {
        self.closest.to(place, ON_CORNER)
    }

    /// A ruler laid up the wall at `along`, square to the feather line.
    pub fn ruler(&self, along: f64) -> Result<Walk<'s, 'm>, ChartError> {
        let foot_of_ruler =
            self.on_surface(self.feather(along)).ok_or(ChartError::FeatherTooShort(0))?;
        let direction = self.direction(along);
        // Up and outward: the bottom may rise inward from the feather line, the wall may lean in.
        let heading = DVec3::Z + OUTWARD * DVec3::new(direction.y, -direction.x, 0.0);
        let ruler = Walk::new(self.surface, foot_of_ruler, direction, heading, 0.0);
        Ok(ruler.looking_ahead(PAST_SLIVERS))
    }

    /// The point `up` mm up the wall at `along`.
    ///
    /// # Errors
    /// When the last is not that high there.
    pub fn point(&self, along: f64, up: f64) -> Result<SurfacePoint, ChartError> {
        let mut ruler = self.ruler(along)?;
        let mut places = vec![ruler.place()];
        let mut steps = Vec::new();
        for step in ruler.by_ref() {
            places.push(step.place);
            steps.push(step);
            if step.walked > up + ROUGHNESS {
                break;
            }
        }
        // Over the roughness of a scan the way is longer than over the last.
        let even = smooth_line(&places, ROUGHNESS);
        let mut walked = 0.0;
        for (i, (step, side)) in steps.iter().zip(even.windows(2)).enumerate() {
            let before = walked;
            walked += side[0].distance(side[1]);
            if walked >= up {
                let share = (up - before) / (walked - before).max(f64::MIN_POSITIVE);
                return Ok(ruler.within(step, places[i], share.clamp(0.0, 1.0)));
            }
        }
        let cause = WalkError::SurfaceEnds { walked, asked: up };
        Err(ChartError::TooHigh { along, cause })
    }

    /// Where the feather line of `side` comes by `along_axis` mm forward of the seat: `along`.
    ///
    /// # Errors
    /// When it does not reach so far.
    pub fn along_at(&self, side: Side, along_axis: f64) -> Result<f64, ChartError> {
        let sign = self.sign(side);
        let on_side = self.line.iter().filter(|(s, _)| s * sign >= 0.0);
        let mut ordered: Vec<&(f64, DVec3)> = on_side.collect();
        ordered.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        ordered
            .windows(2)
            .find(|w| w[0].1.x <= along_axis && w[1].1.x > along_axis)
            .map(|w| {
                let share = (along_axis - w[0].1.x) / (w[1].1.x - w[0].1.x);
                w[0].0 + share * (w[1].0 - w[0].0)
            })
            .ok_or(ChartError::NotReached { along_axis, side })
    }
}

/// The nearest values (by least squares) of which none lies more than `-least` below the one
/// before it: what falls faster is pooled into an even fall (the pool-adjacent-violators
/// algorithm of isotonic regression, on the values less the allowed fall).
fn steady(values: &mut [f64], least: f64) {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (i, value) in values.iter().enumerate() {
        let mut pool = (value - least * i as f64, 1);
        while let Some((mean, count)) = pools.last().copied().filter(|before| before.0 > pool.0) {
            let whole = count + pool.1;
            pool = ((mean * count as f64 + pool.0 * pool.1 as f64) / whole as f64, whole);
            pools.pop();
        }
        pools.push(pool);
    }
    let means = pools.iter().flat_map(|(mean, count)| std::iter::repeat_n(*mean, *count));
    for (i, (value, mean)) in values.iter_mut().zip(means).enumerate() {
        *value = mean + least * i as f64;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn an_allowed_turn_is_left_alone() {
        let mut values: Vec<f64> = (0..50).map(|i| (f64::from(i) * 0.1).sin() * 0.05).collect();
        let before = values.clone();
        steady(&mut values, -0.006);
        assert!(values.iter().zip(&before).all(|(a, b)| (a - b).abs() < 1e-12));
    }

    proptest! {
        #[test]
        fn nothing_falls_faster_than_allowed(
            mut values in proptest::collection::vec(-1.0..1.0f64, 2..200), least in -0.5..0.0f64,
        ) {
            let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
            let before = mean(&values);
            steady(&mut values, least);
            prop_assert!(values.windows(2).all(|w| w[1] - w[0] >= least - 1e-9));
            prop_assert!((mean(&values) - before).abs() < 1e-9);
        }
    }
}
