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
        let n = line.points.len();
        let point = |k: usize| line.points[k % n].position;
        let start = point(i).lerp(point(i + 1), t);
        // A closed line is halved so that the two walks never meet.
        let limit = if line.closed && back > 0.0 { line.length() * 0.49 } else { f64::INFINITY };
        let limit = if line.closed { limit.min(line.length() * 0.98) } else { limit };
        let mut before = Vec::new();
        let (mut s, mut last, mut k) = (0.0, start, i);
        while back > 0.0 {
            let p = point(k);
            let length = p.distance(last);
            let room = back.min(limit) - s;
            if length >= room {
                if room > 1e-9 {
                    before.push((-(s + room), last.lerp(p, room / length)));
                }
                break;
            }
            s += length;
            if length > 1e-12 {
                before.push((-s, p));
            }
            last = p;
            if k == 0 && !line.closed {
                break;
            }
            k = (k + n - 1) % n;
        }
        before.reverse();
        before.push((0.0, start));
        let (mut s, mut last, mut k) = (0.0, start, i + 1);
        loop {
            let p = point(k);
            let length = p.distance(last);
            let room = ahead.min(limit) - s;
            if length >= room {
                if room > 1e-9 {
                    before.push((s + room, last.lerp(p, room / length)));
                }
                break;
            }
            s += length;
            if length > 1e-12 {
                before.push((s, p));
            }
            last = p;
            if k + 1 == n && !line.closed {
                break;
            }
            k = (k + 1) % n;
        }
        Self {
            arc: before.iter().map(|e| e.0).collect(),
            flat: before.iter().map(|e| flat(e.1)).collect(),
            points: before.iter().map(|e| e.1).collect(),
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
