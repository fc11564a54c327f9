//! The smooth surface of a right last: a wall from the feather line to the flat top, and the
//! bottom. Everything is a C2 function of an angle `theta` round the last (0 at the back,
//! growing along the inside to pi at the toe) and of a height parameter `t` in 0..=1.
//!
//! Every outline is `x = back + extent (1 - cos theta) / 2`, `y = centre + sin theta * half`,
//! with `centre` and `half` smooth in the station `(1 - cos theta) / 2`: rounded at both ends
//! by construction. The wall is a cubic B-spline in `t` over seven such rows, so that it
//! cannot ripple more than the rows do.

use glam::{DVec2, DVec3};

use super::super::spline::Spline;
use super::measures::LastMeasures;

/// What the fit turns until the measures are met, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dials {
    pub(super) feather_length: f64,
    pub(super) seat_width: f64,
    pub(super) tread_width: f64,
    /// Drop from the seat to the lowest point of the bottom.
    pub(super) drop: f64,
    pub(super) spring: f64,
    /// What the forefoot is raised by.
    pub(super) rise: f64,
    /// How far the lowest place of the bottom is moved forward, in stations.
    pub(super) tread: f64,
}

/// Stations at which the rows between feather line and top are tabulated: back, seat, waist,
/// joints, toe box, toe.
const STATIONS: [f64; 6] = [0.0, 0.15, 0.40, 0.67, 0.88, 1.0];

/// How far rows 1 to 5 lie from the feather line (0) towards the flat top (1), across.
const INWARD: [f64; 5] = [0.0, 0.05, 0.25, 0.56, 0.82];

/// The same lengthwise: the columns of the waist first climb, then lean back. Leaning at once
/// they would run along the slope of a high heel and crease the wall.
const BACKWARD: [[f64; 6]; 5] = [
    [0.0; 6],
    [0.05, 0.03, -0.02, -0.02, 0.01, 0.02],
    [0.25, 0.22, 0.05, 0.07, 0.20, 0.25],
    [0.56, 0.53, 0.38, 0.41, 0.52, 0.56],
    [0.82, 0.80, 0.72, 0.74, 0.80, 0.82],
];

/// Places outward of that, mm at the model's length: the mean of both sides at each station.
const OUT: [[f64; 6]; 5] = [
    [2.4, 1.4, 1.8, 1.4, 1.8, 2.2],
    [8.8, 4.8, 5.0, 2.8, 0.8, 0.0],
    [6.6, 4.8, 4.6, -1.0, -2.0, 0.0],
    [3.0, 3.2, 2.6, -2.5, -2.0, 0.0],
    [0.8, 1.2, 1.0, -0.8, -0.4, 0.0],
];

/// Added on the inside and taken away on the outside: the inside of the waist hangs over.
const OUT_INSIDE: [[f64; 6]; 5] = [
    [0.0, 0.2, 1.0, 0.2, 0.0, 0.0],
    [0.0, 0.3, 2.8, 0.6, 0.0, 0.0],
    [0.0, 0.2, 2.3, 0.6, 0.4, 0.0],
    [0.0, 0.0, 1.0, -0.4, 0.0, 0.0],
    [0.0, 0.0, 0.0, 0.3, 0.0, 0.0],
];

/// Heights of rows 1 to 3 above the feather line beneath them, mm at the model's length.
const HEIGHT: [[f64; 6]; 3] = [
    [8.0, 8.2, 9.0, 9.0, 9.0, 9.0],
    [20.0, 21.0, 23.0, 23.5, 24.0, 24.5],
    [39.0, 40.0, 38.5, 37.0, 34.0, 37.0],
];

/// Heights of rows 4 and 5, as shares of what is left from row 3 to the top.
const SHARE: [[f64; 6]; 2] =
    [[0.48, 0.48, 0.45, 0.40, 0.37, 0.36], [0.82, 0.82, 0.80, 0.77, 0.74, 0.73]];

/// How much of the forefoot's rise rows 2 to 5 take part in.
const RISE: [[f64; 6]; 4] = [
    [0.0, 0.0, 0.1, 0.45, 0.1, 0.0],
    [0.0, 0.0, 0.2, 0.9, 0.55, 0.4],
    [0.0, 0.0, 0.2, 0.8, 0.9, 0.9],
    [0.0, 0.0, 0.05, 0.3, 0.3, 0.3],
];

/// How much of the drop beyond that of the model's heel rows 4 and 5 sink by: a high heel
/// makes the instep steeper, not the forefoot fuller.
const SINK: [[f64; 6]; 2] = [[0.0, 0.0, 0.0, 0.26, 0.48, 0.5], [0.0, 0.0, -0.02, 0.1, 0.24, 0.3]];

/// Drop of the model, mm at its length.
const MODEL_DROP: f64 = 22.0;

/// Place along the outline, 0 at the back and 1 at the front.
fn station(theta: f64) -> f64 {
    (1.0 - theta.cos()) / 2.0
}

fn table(values: &[f64; 6], scale: f64) -> Spline {
    let points: Vec<_> = STATIONS.iter().zip(values).map(|(&s, &v)| (s, v * scale)).collect();
    Spline::through(&points)
}

/// Where the toe begins, from which on an extension draws the outline out, in stations.
const TOE: f64 = 0.62;
/// How the extension grows from there.
const DRAWN: f64 = 2.4;

/// A closed outline in plan.
#[derive(Debug, Clone)]
struct Outline {
    back: f64,
    /// Length before the extension.
    extent: f64,
    /// What the toe is drawn out by.
    extension: f64,
    centre: Spline,
    half: Spline,
}

impl Outline {
    fn at(&self, theta: f64) -> DVec2 {
        let s = station(theta);
        DVec2::new(self.along(s), self.centre.at(s) + theta.sin() * self.half.at(s))
    }

    fn along(&self, s: f64) -> f64 {
        let plain = self.back + self.extent * s;
        // Powers are dear, and most lasts have no extension.
        if self.extension == 0.0 { plain } else { plain + self.extension * drawn(s) }
    }

    /// The slope of [`Self::along`].
    fn slope(&self, s: f64) -> f64 {
        if self.extension == 0.0 { self.extent } else { self.extent + self.extension * drawing(s) }
    }

    /// The station at which the outline is `x` along, by Newton's method.
    fn station_of(&self, x: f64) -> f64 {
        let mut s = (x - self.back) / (self.extent + self.extension);
        for _ in 0..30 {
            let slope = self.slope(s);
            let step = (x - self.along(s)) / slope;
            s += step;
            if step.abs() < 1e-13 {
                break;
            }
        }
        s
    }
}

/// Which part of the extension station `s` is moved forward by.
fn drawn(s: f64) -> f64 {
    ((s - TOE).max(0.0) / (1.0 - TOE)).powf(DRAWN)
}

/// The slope of [`drawn`].
fn drawing(s: f64) -> f64 {
    DRAWN * ((s - TOE).max(0.0) / (1.0 - TOE)).powf(DRAWN - 1.0) / (1.0 - TOE)
}

/// One row of control points between feather line and top.
#[derive(Debug, Clone)]
struct Row {
    inward: f64,
    backward: Spline,
    out: Spline,
    out_inside: Spline,
}

/// The surface. Seat corner at the origin; frame as the last frame, right foot.
#[derive(Debug, Clone)]
pub(super) struct Form {
    drop: f64,
    spring: f64,
    dome: Spline,
    arch: f64,
    feather: Outline,
    top: Outline,
    top_height: f64,
    /// Rise of the top for each mm forward.
    top_slope: f64,
    seat_slope: f64,
    tread: f64,
    rows: Vec<Row>,
    heights: Vec<Spline>,
    shares: Vec<Spline>,
    rises: Vec<Spline>,
    sinks: Vec<Spline>,
    further_drop: f64,
    rise: f64,
}

impl Form {
    /// The form for `measures`, its dials set to `dials`.
    pub(super) fn new(measures: &LastMeasures, dials: &Dials) -> Self {
        let scale = measures.scale();
        let bulge = measures.back_bulge / 6.5;
        let rows = (0..5)
            .map(|k| {
                let mut out = OUT[k].map(|v| v * scale);
                out[0] *= bulge / scale;
                Row {
                    inward: INWARD[k],
                    backward: table(&BACKWARD[k], 1.0),
                    out: table(&out, 1.0),
                    out_inside: table(&OUT_INSIDE[k], scale),
                }
            })
            .collect();
        let dome = measures.tread_dome;
        Self {
            drop: dials.drop,
            spring: dials.spring,
            dome: table(&[0.5 * dome, 0.6 * dome, -0.35 * dome, dome, 0.7 * dome, 0.5 * dome], 1.0),
            arch: measures.arch,
            feather: feather_outline(measures, dials),
            top: top_outline(measures),
            top_height: measures.top_height,
            top_slope: measures.top_tilt.to_radians().tan(),
            seat_slope: measures.seat_pitch.to_radians().tan(),
            tread: dials.tread,
            rows,
            heights: HEIGHT.iter().map(|h| table(h, scale)).collect(),
            shares: SHARE.iter().map(|h| table(h, 1.0)).collect(),
            rises: RISE.iter().map(|h| table(h, 1.0)).collect(),
            sinks: SINK.iter().map(|h| table(h, 1.0)).collect(),
            further_drop: dials.drop - MODEL_DROP * scale,
            rise: dials.rise,
        }
    }

    /// The corner between wall and bottom.
    pub(super) fn feather(&self, theta: f64) -> DVec3 {
        let plan = self.feather.at(theta);
        plan.extend(self.edge_height(station(theta), theta.sin()))
    }

    /// A point of the wall: `t` is 0 at the feather line and 1 at the edge of the flat top.
    pub(super) fn wall(&self, theta: f64, t: f64) -> DVec3 {
        let (span, weight) = basis(t);
        let points = self.control(theta, span);
        (0..4).map(|k| points[k] * weight[k]).sum()
    }

    /// The edge of the flat top, in plan.
    pub(super) fn top_edge(&self, theta: f64) -> DVec2 {
        self.top.at(theta)
    }

    /// Height of the middle of the flat top.
    pub(super) fn top_height(&self) -> f64 {
        self.top_height
    }

    /// The point of the flat top over the place `plan`.
    pub(super) fn flat_top(&self, plan: DVec2) -> DVec3 {
        let middle = self.top.back + self.top.extent / 2.0;
        plan.extend(self.top_height + self.top_slope * (plan.x - middle))
    }

    /// The point of the bottom over the place `plan`, which must lie within the feather line.
    pub(super) fn bottom(&self, plan: DVec2) -> DVec3 {
        let s = self.feather.station_of(plan.x);
        let across = (plan.y - self.feather.centre.at(s)) / self.feather.half.at(s);
        // The same polynomial on the feather line, where `across` is sin theta, is zero.
        let depth = self.dome.at(s) * (4.0 * s * (1.0 - s) - across * across);
        plan.extend(self.edge_height(s, across) - depth)
    }

    /// Height of the feather line at station `s`, `across` (-1..=1) to the inside.
    fn edge_height(&self, s: f64, across: f64) -> f64 {
        // The slope from the seat to the tread ends level, and without a jump in bending,
        // under the joints.
        let level = 0.69 + self.tread;
        let u = (s / level).clamp(0.0, 1.0);
        let fall = u.powi(4) * (15.0 - 24.0 * u + 10.0 * u * u);
        let arch = (4.0 * u * (1.0 - u)).powi(3) * self.arch * (0.6 + 0.6 * across);
        // The seat's own slope dies away before the waist.
        let seat = self.seat_slope * self.feather.extent * level * u * (1.0 - u).powi(4);
        let from = 0.62 + self.tread;
        let v = ((s - from) / (1.0 - from)).max(0.0);
        let spring = if v > 0.0 { self.spring * v.powf(2.6) } else { 0.0 };
        -self.drop * fall + arch - seat + spring
    }

    /// Control points `first` to `first + 3` of the seven at `theta`, from the feather line to the top.
    fn control(&self, theta: f64, first: usize) -> [DVec3; 4] {
        let (s, sin) = (station(theta), theta.sin());
        let feather = self.feather(theta);
        let top = self.flat_top(self.top.at(theta));
        // Outward: turns faster than theta near the ends, as the outlines do.
        let outward = DVec2::new(-theta.cos(), 3.0 * sin).normalize();
        // Every table of the rows has the same stations.
        let place = self.rows[0].out.place(s);
        let plan = |k: usize| {
            let row = &self.rows[k];
            let out = row.out.at_place(&place) + sin * row.out_inside.at_place(&place);
            let towards_top = DVec2::new(row.backward.at_place(&place), row.inward);
            feather.truncate() + (top - feather).truncate() * towards_top + outward * out
        };
        // Above the feather line where the row is, not where its column began: on a high heel the
        // slope of the waist would otherwise shear the rows into a fold.
        let above_feather = |k: usize, plan: DVec2| {
            let beneath = self.feather.station_of(plan.x).max(0.0);
            self.edge_height(beneath, sin) + self.heights[k].at_place(&place)
        };
        // Row 3 is the last of those; what is above it goes by its height.
        let third = above_feather(2, plan(2));
        [0, 1, 2, 3].map(|i| {
            let k = match first + i {
                0 => return feather,
                6 => return top,
                row => row - 1,
            };
            let plan = plan(k);
            let rise = if k == 0 { 0.0 } else { self.rises[k - 1].at_place(&place) * self.rise };
            let height = match k {
                0 | 1 => above_feather(k, plan),
                2 => third,
                _ => {
                    third + self.shares[k - 3].at_place(&place) * (top.z - third)
                        - self.sinks[k - 3].at_place(&place) * self.further_drop
                }
            };
            plan.extend(height + rise)
        })
    }
}

/// The plan of the bottom: rounded seat, waist hollowed on the inside, joints, toe.
fn feather_outline(measures: &LastMeasures, dials: &Dials) -> Outline {
    let scale = measures.scale();
    let (seat, tread) = (dials.seat_width / 62.0, dials.tread_width / 85.0);
    let waist = (seat + tread) / 2.0;
    let mixed = |share: f64| seat + (tread - seat) * share;
    // Pointed and square toes differ from the round one in front of the joints only.
    let toe = measures.toe_point;
    let (side, tip) = if toe < 0.0 { (0.08, 26.0) } else { (0.18, 14.0) };
    // Station, inside and outside half width of the model, and what each scales with.
    let widths = [
        (0.06, 26.2, 26.2, seat),
        (0.15, 31.0, 31.0, seat),
        (0.27, 27.0, 31.5, mixed(0.2)),
        (0.40, 22.0, 34.0, waist),
        (0.52, 28.6, 40.3, mixed(0.9)),
        (0.64, 36.6, 45.0, tread),
        (0.735, 39.4, 42.6, tread),
        (0.86, 34.2 * (1.0 - side * toe), 31.8 * (1.0 - side * toe), tread),
    ];
    let swing = measures.toe_swing;
    let extension = measures.toe_extension;
    let extent = dials.feather_length - extension;
    // With this half width at an end the outline has this radius there.
    let end = |radius: f64, extent: f64| (radius * extent / 2.0).sqrt();
    let mut centre = vec![(0.0, 0.0)];
    let mut half = vec![(0.0, end(28.5 * seat, extent))];
    for (s, inside, outside, width) in widths {
        let sin = 2.0 * f64::sqrt(s * (1.0 - s));
        let swung = (swing - 5.0 * scale) * (s - 0.5_f64).max(0.0).powi(2) * 4.0;
        centre.push((s, (inside - outside) / 2.0 * width + swung));
        half.push((s, (inside + outside) / 2.0 * width / sin));
    }
    centre.push((1.0, swing));
    half.push((1.0, end((20.0 - tip * toe) * tread, extent + extension * drawing(1.0))));
    Outline {
        back: 0.0,
        extent,
        extension,
        centre: Spline::through(&centre),
        half: Spline::through(&half),
    }
}

/// The edge of the flat top: a long oval, blunter behind.
fn top_outline(measures: &LastMeasures) -> Outline {
    let half = measures.top_width / 2.0;
    let shape = [
        (0.0, 1.60),
        (0.15, 1.30),
        (0.32, 1.07),
        (0.5, 1.0),
        (0.7, 1.02),
        (0.86, 1.14),
        (1.0, 1.3),
    ];
    let points: Vec<_> = shape.iter().map(|&(s, v)| (s, v * half)).collect();
    Outline {
        back: 4.0 * measures.scale(),
        extent: measures.top_length,
        extension: 0.0,
        centre: Spline::through(&[(0.0, 0.0), (0.5, 0.0), (1.0, 0.0)]),
        half: Spline::through(&points),
    }
}

/// First control point and the four weights of the clamped uniform cubic B-spline over seven
/// points, by the triangular scheme of de Boor (1972).
fn basis(t: f64) -> (usize, [f64; 4]) {
    const KNOTS: [f64; 11] = [0.0, 0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 4.0, 4.0, 4.0];
    let u = t.clamp(0.0, 1.0) * 4.0;
    let span = (u as usize).min(3);
    let knot = span + 3;
    let mut weight = [1.0, 0.0, 0.0, 0.0];
    for degree in 1..4 {
        let mut saved = 0.0;
        for r in 0..degree {
            let (right, left) = (KNOTS[knot + r + 1], KNOTS[knot + 1 + r - degree]);
            let share = weight[r] / (right - left);
            weight[r] = saved + (right - u) * share;
            saved = (u - left) * share;
        }
        weight[degree] = saved;
    }
    (span, weight)
}
