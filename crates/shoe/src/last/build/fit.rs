//! Turns the dials of the form until the measures are met.

use std::f64::consts::{PI, TAU};

use glam::{DAffine3, DMat3, DVec2, DVec3};

use super::edge::Rim;
use super::form::{Dials, Form};
use super::measures::LastMeasures;
use super::{BuildError, Reached};

/// The fitted form and its marks.
pub(super) struct Fitted {
    pub(super) form: Form,
    /// Brings the seat point to the origin, the joints to either side of the x axis, and the
    /// feather line level across.
    pub(super) last_from_form: DAffine3,
    /// Angles of the marks round the edge.
    pub(super) seat: f64,
    pub(super) toe: f64,
    pub(super) medial: f64,
    pub(super) lateral: f64,
    pub(super) ground: f64,
    /// Parameters of the rearmost and of the foremost point of the wall.
    pub(super) ends: [DVec2; 2],
    /// Place in plan of the lowest point of the bottom.
    pub(super) lowest: DVec2,
    pub(super) reached: Reached,
    /// How far the lowest point of the tread lies behind its place, mm.
    behind: f64,
}

/// Well below what a tape reads and what the mesh loses.
const TOLERANCE: f64 = 0.002;

/// The lowest point of the tread is less sharply told, mm.
const TREAD_TOLERANCE: f64 = 0.2;

/// Angles at which the edge is sampled while fitting; extremes are refined by a parabola.
const ROUND: usize = 360;

/// Brings the form to `measures`.
pub(super) fn fit(measures: &LastMeasures) -> Result<Fitted, BuildError> {
    let mut dials = Dials {
        feather_length: measures.length - 0.032 * (measures.length - measures.toe_extension),
        seat_width: measures.seat_width,
        tread_width: measures.tread_width,
        drop: measures.heel_height - measures.tread_dome,
        spring: measures.toe_spring - measures.tread_dome,
        rise: 0.0,
        tread: 0.0,
    };
    let mut fitted = measure(measures, &dials)?;
    // Girth gained by raising the forefoot: a first guess, then the secant's.
    let mut gain = 1.6;
    // Raised or lowered further, the forefoot is no foot's any more.
    let limit = 25.0 * measures.scale();
    for _ in 0..60 {
        let miss = misses(measures, &fitted.reached);
        let treads = fitted.behind.abs() < TREAD_TOLERANCE;
        if treads && miss.iter().all(|m| m.abs() < TOLERANCE) {
            break;
        }
        // A flat tread moves further than its cause; so with care, and no further than it is
        // a last.
        if !treads {
            let step = 0.5 * fitted.behind / dials.feather_length;
            dials.tread = (dials.tread + step).clamp(-0.06, 0.06);
        }
        dials.feather_length += miss[0];
        let rise = (dials.rise + miss[1] / gain).clamp(-limit, limit);
        let step = rise - dials.rise;
        dials.rise = rise;
        dials.drop += miss[2];
        dials.spring += miss[3];
        dials.seat_width += miss[4];
        dials.tread_width += miss[5];
        let before = fitted.reached.ball_girth;
        fitted = measure(measures, &dials)?;
        if step.abs() > 1e-4 {
            gain = ((fitted.reached.ball_girth - before) / step).clamp(0.8, 3.0);
        }
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
    match names.iter().find(|(_, asked, reached)| (asked - reached).abs() >= TOLERANCE) {
        None => Ok(fitted),
        Some(&(name, asked, reached)) => {
            let (other, base) = match name {
                "ball girth" => ("tread width", measures.tread_width),
                _ => ("edge radius", measures.edge_radius),
            };
            Err(BuildError::NotMet { name, asked, reached, other, base })
        }
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
    let in_form: Vec<DVec3> = rims.iter().map(Rim::middle).collect();
    let turned = upright(&in_form);
    let feather: Vec<DVec3> = in_form.iter().map(|p| turned * *p).collect();
    let (seat_angle, _) = crest(&feather, |_| true, -DVec3::X);
    let (toe_angle, _) = crest(&feather, |_| true, DVec3::X);
    let middle = |theta| Ok(turned * rim_at(theta)?.middle());
    let (seat, toe) = (middle(seat_angle)?, middle(toe_angle)?);

    let reach = toe.x - seat.x;
    let is_seat = |p: &DVec3| p.x - seat.x < 0.3 * reach;
    let is_fore = |p: &DVec3| p.x - seat.x > 0.5 * reach;
    let (_, seat_in) = crest(&feather, is_seat, DVec3::Y);
    let (_, seat_out) = crest(&feather, is_seat, -DVec3::Y);
    let (medial, tread_in) = crest(&feather, is_fore, DVec3::Y);
    let (lateral, tread_out) = crest(&feather, is_fore, -DVec3::Y);

    // The wall begins where the rounding ends; at the toe the last may be longest on either.
    let begin = [rims[0].wall.y, rims[ROUND / 2].wall.y];
    let wall = |v: DVec2, end: usize| turned * form.wall(v.x, v.y.clamp(begin[end], 1.0));
    let (heel_end, heel_most) =
        climb(|v| -wall(v, 0).x, DVec2::new(0.0, 0.2), DVec2::new(0.1, 0.05));
    let (toe_end, toe_most) = climb(|v| wall(v, 1).x, DVec2::new(PI, 0.1), DVec2::new(0.1, 0.05));
    let arcs =
        rims.iter().flat_map(|rim| (0..=16).map(|k| (turned * rim.at(f64::from(k) / 16.0)).x));
    let (arc_low, arc_high) =
        arcs.fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(x), high.max(x)));
    let ball = DVec2::new(in_form[0].x + 0.66 * reach, 0.0);
    let (lowest, depth) = climb(|v| -(turned * form.bottom(v)).z, ball, DVec2::new(5.0, 5.0));

    let joints = [middle(medial)?, middle(lateral)?];
    let girth = ball_girth(&form, turned, &rims, joints);
    let reached = Reached {
        length: heel_most.max(-arc_low) + toe_most.max(arc_high),
        ball_girth: girth,
        heel_height: seat.z + depth,
        toe_spring: toe.z + depth,
        seat_width: seat_in + seat_out,
        tread_width: tread_in + tread_out,
    };
    let wanted = (joints[0].x + joints[1].x) / 2.0 + measures.tread_forward;
    let behind = wanted - (turned * form.bottom(lowest)).x;
    Ok(Fitted {
        form,
        last_from_form: DAffine3 { matrix3: turned, translation: -seat },
        seat: seat_angle,
        toe: toe_angle,
        medial,
        lateral,
        ground: -depth - seat.z,
        ends: [heel_end, toe_end],
        lowest,
        reached,
        behind,
    })
}

/// The rotation into the last frame by the edge: seen from above, x from the seat through the
/// middle between the joints; across, level at seat and tread in equal parts, as
/// [`crate::last::level`] has it.
fn upright(edge: &[DVec3]) -> DMat3 {
    let mut turned = DMat3::IDENTITY;
    for _ in 0..8 {
        let points = |turned: DMat3| edge.iter().map(|p| turned * *p).collect::<Vec<_>>();
        let line = points(turned);
        let seat = peak(&line, |_| true, -DVec3::X);
        let reach = peak(&line, |_| true, DVec3::X).x - seat.x;
        let is_fore = |p: &DVec3| p.x - seat.x > 0.5 * reach;
        let middle = (peak(&line, is_fore, DVec3::Y) + peak(&line, is_fore, -DVec3::Y)) / 2.0;
        let heading = (middle.y - seat.y).atan2(middle.x - seat.x);
        turned = DMat3::from_rotation_z(-heading) * turned;
        let line = points(turned);
        let seat = peak(&line, |_| true, -DVec3::X);
        let slope = |from: f64, to: f64| -> f64 {
            let side = |left: bool| -> DVec3 {
                let n = line.len();
                let (mut sum, mut total) = (DVec3::ZERO, 0.0);
                for i in 0..n {
                    let p = line[i] - seat;
                    if (p.y > 0.0) == left && (from * reach..to * reach).contains(&p.x) {
                        // The angles are even, the points are not.
                        let length = line[(i + 1) % n].distance(line[(i + n - 1) % n]);
                        sum += p * length;
                        total += length;
                    }
                }
                sum / f64::max(total, 1e-9)
            };
            let across = side(true) - side(false);
            across.z.atan2(across.y)
        };
        let roll = (slope(0.03, 0.15) + slope(0.66, 0.80)) / 2.0;
        turned = DMat3::from_rotation_x(-roll) * turned;
    }
    turned
}

/// Angle and height of the point furthest in direction `out` among the points `of` interest.
fn crest(points: &[DVec3], of: impl Fn(&DVec3) -> bool, out: DVec3) -> (f64, f64) {
    let (best, shift) = furthest(points, of, out);
    let n = points.len();
    let y = |i: usize| out.dot(points[i % n]);
    let height = y(best) - (y(best + n - 1) - y(best + 1)) * shift / 4.0;
    (TAU * (best as f64 + shift) / n as f64, height)
}

/// The same as a point, between those given.
fn peak(points: &[DVec3], of: impl Fn(&DVec3) -> bool, out: DVec3) -> DVec3 {
    let (best, t) = furthest(points, of, out);
    let n = points.len();
    let (before, here, after) = (points[(best + n - 1) % n], points[best], points[(best + 1) % n]);
    here + (after - before) * (t / 2.0) + (before - here * 2.0 + after) * (t * t / 2.0)
}

/// Which of the points `of` interest is furthest in direction `out`, and by how many steps the
/// top of the parabola through it and its neighbours lies after it.
fn furthest(points: &[DVec3], of: impl Fn(&DVec3) -> bool, out: DVec3) -> (usize, f64) {
    let n = points.len();
    let best = (0..n)
        .filter(|&i| of(&points[i]))
        .max_by(|&i, &j| out.dot(points[i]).total_cmp(&out.dot(points[j])))
        .unwrap_or(0);
    let y = |i: usize| out.dot(points[i % n]);
    let (before, here, after) = (y(best + n - 1), y(best), y(best + 1));
    let bend = before - 2.0 * here + after;
    (best, if bend < 0.0 { (before - after) / (2.0 * bend) } else { 0.0 })
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
fn ball_girth(form: &Form, turned: DMat3, rims: &[Rim], joints: [DVec3; 2]) -> f64 {
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
        let at =
            |rim: &Rim| turned * form.wall(rim.wall.x, rim.wall.y + (1.0 - rim.wall.y) * share);
        rims.iter().map(at).collect()
    };
    let arc =
        |k: usize| -> Vec<DVec3> { rims.iter().map(|r| turned * r.at(k as f64 / 12.0)).collect() };
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
            let t = k as f64 / STEPS as f64;
            let chord = (middle + across * (a.x + (b.x - a.x) * t)).extend(a.y + (b.y - a.y) * t);
            // The turn is a fraction of a degree: the place in plan hardly moves by it.
            let beneath = turned * form.bottom((turned.transpose() * chord).truncate());
            section.push(DVec2::new((beneath.truncate() - middle).dot(across), beneath.z));
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
