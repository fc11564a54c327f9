//! A stretch of a section walked from the bottom outward and up the wall, by arc length.

use glam::{DVec2, DVec3};

use geometry::section::SectionPolyline;

/// Points of a section by arc length, with their place in the plane: x outward, y up.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    arc: Vec<f64>,
    points: Vec<DVec3>,
    flat: Vec<DVec2>,
}

impl Profile {
    /// From the lowest crossing below or above `centre`, outward for `reach` mm.
    pub(super) fn from_bottom(
        lines: &[SectionPolyline],
        centre: DVec3,
        outward: DVec3,
        up: DVec3,
        reach: f64,
    ) -> Option<Self> {
        let flat = |p: DVec3| DVec2::new((p - centre).dot(outward), (p - centre).dot(up));
        let mut best: Option<(f64, usize, usize, f64)> = None;
        for (l, line) in lines.iter().enumerate() {
            let n = line.points.len();
            for i in 0..line.faces.len() {
                let (a, b) =
                    (flat(line.points[i].position), flat(line.points[(i + 1) % n].position));
                if a.x < 0.0 && b.x >= 0.0 {
                    let t = a.x / (a.x - b.x);
                    let height = a.y + (b.y - a.y) * t;
                    if best.is_none_or(|(lowest, ..)| height < lowest) {
                        best = Some((height, l, i, t));
                    }
                }
            }
        }
        let (_, l, i, t) = best?;
        let profile = Self::walked(&lines[l], i, t, 0.0, reach, flat);
        (profile.end() > 12.0).then_some(profile)
    }

    /// Around the place of a section nearest to `at`, `reach` mm to either side, in the plane
    /// square to `tangent`, which runs counter-clockwise round the bottom seen from above.
    pub(super) fn near(
        lines: &[SectionPolyline],
        at: DVec3,
        tangent: DVec3,
        up: DVec3,
        reach: f64,
    ) -> Option<Self> {
        let outward = tangent.cross(up).normalize_or_zero();
        let upward = outward.cross(tangent);
        let flat = |p: DVec3| DVec2::new((p - at).dot(outward), (p - at).dot(upward));
        let mut best: Option<(f64, usize, usize, f64)> = None;
        for (l, line) in lines.iter().enumerate() {
            let n = line.points.len();
            for i in 0..line.faces.len() {
                let (a, b) = (line.points[i].position, line.points[(i + 1) % n].position);
                let side = b - a;
                let t = ((at - a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0);
                let away = (a + side * t).distance_squared(at);
                if best.is_none_or(|(nearest, ..)| away < nearest) {
                    best = Some((away, l, i, t));
                }
            }
        }
        let (away, l, i, t) = best?;
        let profile = Self::walked(&lines[l], i, t, reach, reach, flat);
        (away < 15.0 * 15.0 && profile.end() > 8.0 && profile.begin() < -8.0).then_some(profile)
    }

    /// The stretch from `back` mm before the place `t` on segment `i` to `ahead` mm after.
    fn walked(
        line: &SectionPolyline,
        i: usize,
        t: f64,
        back: f64,
        ahead: f64,
        flat: impl Fn(DVec3) -> DVec2,
    ) -> Self {
        // On a closed line the two walks together never come round to where they meet.
        let share = if back > 0.0 { 0.49 } else { 0.98 };
        let limit = if line.closed { line.length() * share } else { f64::INFINITY };
        let n = line.points.len();
        let start = line.points[i].position.lerp(line.points[(i + 1) % n].position, t);
        let mut passed = walk(line, start, i, false, back.min(limit));
        passed.reverse();
        passed.push((0.0, start));
        passed.extend(walk(line, start, (i + 1) % n, true, ahead.min(limit)));
        Self {
            arc: passed.iter().map(|e| e.0).collect(),
            flat: passed.iter().map(|e| flat(e.1)).collect(),
            points: passed.iter().map(|e| e.1).collect(),
        }
    }

    /// Smallest arc length.
    pub(super) fn begin(&self) -> f64 {
        self.arc[0]
    }

    /// Largest arc length.
    pub(super) fn end(&self) -> f64 {
        self.arc[self.arc.len() - 1]
    }

    /// Segment that holds `s`, and where on it; clamped to the ends.
    fn place(&self, s: f64) -> (usize, f64) {
        if self.arc.len() < 2 {
            return (0, 0.0);
        }
        let i = self.arc.partition_point(|a| *a <= s).clamp(1, self.arc.len() - 1) - 1;
        let length = self.arc[i + 1] - self.arc[i];
        (i, ((s - self.arc[i]) / length).clamp(0.0, 1.0))
    }

    /// The surface point at arc length `s`; exactly a vertex of the section where `s` is one.
    pub(super) fn at(&self, s: f64) -> DVec3 {
        let (i, t) = self.place(s);
        match self.points.get(i + 1) {
            Some(next) => self.points[i].lerp(*next, t),
            None => self.points[i],
        }
    }

    /// The point of the profile nearest to `to`.
    pub(super) fn nearest(&self, to: DVec3) -> DVec3 {
        let on = |w: &[DVec3]| {
            let side = w[1] - w[0];
            let t = (to - w[0]).dot(side) / side.length_squared().max(1e-30);
            w[0] + side * t.clamp(0.0, 1.0)
        };
        self.points
            .windows(2)
            .map(on)
            .min_by(|a, b| a.distance_squared(to).total_cmp(&b.distance_squared(to)))
            .unwrap_or(to)
    }

    fn flat_at(&self, s: f64) -> DVec2 {
        let (i, t) = self.place(s);
        match self.flat.get(i + 1) {
            Some(next) => self.flat[i].lerp(*next, t),
            None => self.flat[i],
        }
    }

    /// Direction at `s` in degrees, averaged over `half` mm to either side: 0 level outward,
    /// 90 up, between -120 and 240. Near an end the average is one-sided.
    pub(super) fn angle(&self, s: f64, half: f64) -> f64 {
        let s = s.clamp(self.begin() + half, (self.end() - half).max(self.begin() + half));
        let chord = self.flat_at(s + half) - self.flat_at(s - half);
        let degrees = chord.y.atan2(chord.x).to_degrees();
        if degrees < -120.0 { degrees + 360.0 } else { degrees }
    }

    /// Arc lengths of the section's vertices between `from` and `to`.
    pub(super) fn vertices(&self, from: f64, to: f64) -> impl Iterator<Item = f64> + '_ {
        self.arc.iter().copied().filter(move |s| (from..=to).contains(s))
    }
}

/// Points passed on the way from `start`, `next` being the first vertex met, for `reach` mm or
/// to the end of an open line; each with its arc length, negative when walking backward.
fn walk(
    line: &SectionPolyline,
    start: DVec3,
    next: usize,
    forward: bool,
    reach: f64,
) -> Vec<(f64, DVec3)> {
    /// Shorter steps are doubled points, where the plane passes through a vertex.
    const NO_STEP: f64 = 1e-12;
    let n = line.points.len();
    let sign = if forward { 1.0 } else { -1.0 };
    let mut passed = Vec::new();
    let (mut s, mut last, mut k) = (0.0, start, next);
    // Round a closed line at most once, round an open one to its end.
    let steps = match (line.closed, forward) {
        (true, _) => n,
        (false, true) => n - next,
        (false, false) => next + 1,
    };
    for _ in 0..steps {
        let p = line.points[k].position;
        let length = p.distance(last);
        if s + length >= reach {
            if reach - s > NO_STEP {
                passed.push((sign * reach, last.lerp(p, (reach - s) / length)));
            }
            break;
        }
        s += length;
        if length > NO_STEP {
            passed.push((sign * s, p));
        }
        last = p;
        k = if forward { (k + 1) % n } else { (k + n - 1) % n };
    }
    passed
}
