//! Turns the dials of the form until the measures are met.

use std::f64::consts::{PI, TAU};

use glam::{DVec2, DVec3};

use super::edge::Rim;
use super::form::{Dials, Form};
use super::measures::LastMeasures;
use super::{BuildError, Reached};

/// The fitted form and its marks. Positions in the frame of the form: add `last_from_form`.
pub(super) struct Fitted {
    pub(super) form: Form,
    /// Brings the seat point to the origin.
    pub(super) last_from_form: DVec3,
    pub(super) medial: f64,
    pub(super) lateral: f64,
    pub(super) ground: f64,
    /// Parameters of the rearmost and of the foremost point of the wall.
    pub(super) ends: [DVec2; 2],
    /// Place in plan of the lowest point of the bottom.
    pub(super) lowest: DVec2,
    pub(super) reached: Reached,
}

/// Well below what a tape reads and what the mesh loses.
const TOLERANCE: f64 = 0.002;

/// Angles at which the edge is sampled while fitting; extremes are refined by a parabola.
const ROUND: usize = 360;

/// Brings the form to `measures`.
pub(super) fn fit(measures: &LastMeasures) -> Result<Fitted, BuildError> {
    let mut dials = Dials {
        feather_length: measures.length * 0.968,
        seat_width: measures.seat_width,
        tread_width: measures.tread_width,
        drop: measures.heel_height - measures.tread_dome,
        spring: measures.toe_spring - measures.tread_dome,
        rise: 0.0,
    };
    let mut fitted = measure(measures, &dials)?;
    for _ in 0..60 {
        let miss = misses(measures, &fitted.reached);
        if miss.iter().all(|m| m.abs() < TOLERANCE) {
            break;
        }
        dials.feather_length += miss[0];
        dials.rise += miss[1] / 1.5;
        dials.drop += miss[2];
        dials.spring += miss[3];
        dials.seat_width += miss[4];
        dials.tread_width += miss[5];
        // Beyond this the forefoot is no foot's any more.
        if !(dials.rise.abs() < 25.0 * measures.scale()) {
            return Err(BuildError::NotMet {
                name: "ball girth",
                asked: measures.ball_girth,
                reached: fitted.reached.ball_girth,
                other: "tread width",
                base: measures.tread_width,
            });
        }
        fitted = measure(measures, &dials)?;
    }
    let reached = &fitted.reached;
    let names = [
        ("length", measures.length, reached.length),
        ("ball girth", measures.ball_girth, reached.ball_girth),
        ("heel height", measures.heel_height, reached.heel_height),
        ("toe spring", measures.toe_spring, reached.toe_spring),
        ("seat width", measures.seat_width, reached.seat_width),
        ("tread width", measures.tread_width, reached.tread_width),
    ];
    match names.iter().find(|(_, asked, reached)| !((asked - reached).abs() < TOLERANCE)) {
        None => Ok(fitted),
        Some(&(name, asked, reached)) => Err(BuildError::NotMet {
            name,
            asked,
            reached,
            other: "edge radius",
            base: measures.edge_radius,
        }),
    }
}

fn misses(asked: &LastMeasures, reached: &Reached) -> [f64; 6] {
    [
        asked.length - reached.length,
        asked.ball_girth - reached.ball_girth,
        asked.heel_height - reached.heel_height,
        asked.toe_spring - reached.toe_spring,
        asked.seat_width - reached.seat_width,
        asked.tread_width - reached.tread_width,
    ]
}

/// Measures the form with these dials.
fn measure(measures: &LastMeasures, dials: &Dials) -> Result<Fitted, BuildError> {
    let form = Form::new(measures, dials);
    let rim_at = |theta| Rim::new(&form, theta, measures.edge_radius, measures.seat_width);
    let angle = |i: usize| TAU * i as f64 / ROUND as f64;
    let rims = (0..ROUND).map(|i| rim_at(angle(i))).collect::<Result<Vec<_>, _>>()?;
    let feather: Vec<DVec3> = rims.iter().map(Rim::middle).collect();
    let (seat, toe) = (rims[0].middle(), rims[ROUND / 2].middle());

    let reach = toe.x - seat.x;
    let is_seat = |p: &DVec3| p.x - seat.x < 0.3 * reach;
    let is_fore = |p: &DVec3| p.x - seat.x > 0.5 * reach;
    let (_, seat_in) = crest(&feather, is_seat, 1.0);
    let (_, seat_out) = crest(&feather, is_seat, -1.0);
    let (medial, tread_in) = crest(&feather, is_fore, 1.0);
    let (lateral, tread_out) = crest(&feather, is_fore, -1.0);

    let wall = |v: DVec2| form.wall(v.x, v.y.clamp(0.0, 1.0));
    let (heel_end, heel_most) = climb(|v| -wall(v).x, DVec2::new(0.0, 0.2), DVec2::new(0.1, 0.05));
    let (toe_end, toe_most) = climb(|v| wall(v).x, DVec2::new(PI, 0.1), DVec2::new(0.1, 0.05));
    let ball = DVec2::new(seat.x + 0.66 * reach, 0.0);
    let (lowest, depth) = climb(|v| -form.bottom(v).z, ball, DVec2::new(5.0, 5.0));

    let joints = [rim_at(medial)?.middle(), rim_at(lateral)?.middle()];
    let girth = ball_girth(&form, &rims, joints);
    let reached = Reached {
        length: heel_most + toe_most,
        ball_girth: girth,
        heel_height: seat.z + depth,
        toe_spring: toe.z + depth,
        seat_width: seat_in + seat_out,
        tread_width: tread_in + tread_out,
    };
    let ground = -depth - seat.z;
    let ends = [heel_end, toe_end];
    Ok(Fitted { form, last_from_form: -seat, medial, lateral, ground, ends, lowest, reached })
}

/// Angle and height of the highest `sign * y` among the points `of` interest.
fn crest(points: &[DVec3], of: impl Fn(&DVec3) -> bool, sign: f64) -> (f64, f64) {
    let n = points.len();
    let best = (0..n)
        .filter(|&i| of(&points[i]))
        .max_by(|&i, &j| (sign * points[i].y).total_cmp(&(sign * points[j].y)))
        .unwrap_or(0);
    let y = |i: usize| sign * points[i % n].y;
    let (before, here, after) = (y(best + n - 1), y(best), y(best + 1));
    let bend = before - 2.0 * here + after;
    let shift = if bend < 0.0 { (before - after) / (2.0 * bend) } else { 0.0 };
    let height = here - (before - after) * shift / 4.0;
    (TAU * (best as f64 + shift) / n as f64, height)
}

/// The place of the highest value near `start`, and that value, by a pattern search with halving steps.
fn climb(value: impl Fn(DVec2) -> f64, start: DVec2, step: DVec2) -> (DVec2, f64) {
    let (mut at, mut best, mut step) = (start, value(start), step);
    for _ in 0..26 {
        let mut moving = true;
        while moving {
            moving = false;
            for way in [DVec2::X, -DVec2::X, DVec2::Y, -DVec2::Y] {
                let there = at + way * step;
                let found = value(there);
                if found > best {
                    (at, best, moving) = (there, found, true);
                }
            }
        }
        step /= 2.0;
    }
    (at, best)
}

/// Perimeter of the hull of the section by the upright plane through both joints.
fn ball_girth(form: &Form, rims: &[Rim], joints: [DVec3; 2]) -> f64 {
    /// Rows up the wall and steps across the bottom; finer changes the girth by 0.01 mm.
    const STEPS: usize = 140;
    let across = (joints[0] - joints[1]).truncate().normalize();
    let middle = (joints[0] + joints[1]).truncate() / 2.0;
    let side = |p: DVec3| (p.truncate() - middle).dot(across.perp());
    let mut section = Vec::new();
    let mut cut = |a: DVec3, b: DVec3| {
        let (from, to) = (side(a), side(b));
        if (from <= 0.0) != (to <= 0.0) {
            let p = a.lerp(b, from / (from - to));
            section.push(DVec2::new((p.truncate() - middle).dot(across), p.z));
        }
    };
    let row = |k: usize| -> Vec<DVec3> {
        let share = k as f64 / STEPS as f64;
        let at = |rim: &Rim| form.wall(rim.wall.x, rim.wall.y + (1.0 - rim.wall.y) * share);
        rims.iter().map(at).collect()
    };
    let arc = |k: usize| -> Vec<DVec3> { rims.iter().map(|r| r.at(k as f64 / 12.0)).collect() };
    let rows = (0..=12).rev().map(arc).chain((0..STEPS).map(row));
    let mut below: Option<Vec<DVec3>> = None;
    for row in rows {
        for i in 0..row.len() {
            cut(row[i], row[(i + 1) % row.len()]);
            if let Some(below) = &below {
                cut(below[i], row[i]);
            }
        }
        below = Some(row);
    }
    // Across the bottom, between the ends the first row left.
    let ends: Vec<DVec2> = section.iter().take(2).copied().collect();
    if let [a, b] = ends[..] {
        for k in 1..STEPS {
            let v = a.x + (b.x - a.x) * k as f64 / STEPS as f64;
            section.push(DVec2::new(v, form.bottom(middle + across * v).z));
        }
    }
    hull_perimeter(section)
}

/// Perimeter of the convex hull, by Andrew's monotone chain (1979).
fn hull_perimeter(mut points: Vec<DVec2>) -> f64 {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut length = 0.0;
    for _ in 0..2 {
        let mut chain: Vec<DVec2> = Vec::new();
        for &p in &points {
            while let [.., a, b] = chain[..] {
                if (b - a).perp_dot(p - b) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        length += chain.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>();
        points.reverse();
    }
    length
}
