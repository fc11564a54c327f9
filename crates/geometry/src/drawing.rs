//! The one document between parts and formats: curves, text and coloured areas on named layers.
//!
//! Millimetres, x to the right, y up. A drawing knows no shoe and no file format.

use glam::DVec2;

/// A flat drawing at full scale.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// What the drawing shows; goes into the file's title.
    pub title: String,
    /// What is drawn, in painting order.
    pub items: Vec<Item>,
}

/// One thing on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line, open or closed.
    Path(Path),
    /// A line of text.
    Text(Text),
    /// A coloured area without an outline; for pictures, left out of cutting files.
    Area(Area),
}

/// What the line or text is for. Each format maps a layer to its own means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The knife or laser goes along it.
    Cut,
    /// Drawn on the material or paper, not cut.
    Mark,
    /// Read by people only.
    Text,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stroke {
    /// An unbroken line.
    #[default]
    Solid,
    /// Dashes.
    Dashed,
    /// Long and short dashes in turn.
    Chain,
}

/// A line of straight and circular pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// What it is for.
    pub layer: Layer,
    /// How it is drawn.
    pub stroke: Stroke,
    /// The curve.
    pub curve: Curve,
}

/// A polyline whose pieces may be circular arcs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    /// The corners, in order.
    pub knots: Vec<Knot>,
    /// Whether the last knot joins the first again.
    pub closed: bool,
}

/// A corner of a curve, and how the piece that starts here bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// Where, mm.
    pub at: DVec2,
    /// Tangent of a quarter of the angle of the arc to the next knot: 0 is straight, positive
    /// turns to the left (counter-clockwise), 1 is a half circle. The DXF convention.
    pub bulge: f64,
}

/// Where the text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Starts at the point, on the base line.
    #[default]
    Start,
    /// Centred on the point, on the base line.
    Middle,
    /// Ends at the point, on the base line.
    End,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// What it is for.
    pub layer: Layer,
    /// The point it hangs on, mm.
    pub at: DVec2,
    /// Height of a capital letter, mm.
    pub height: f64,
    /// Degrees counter-clockwise from the x axis.
    pub angle: f64,
    /// How it hangs on the point.
    pub anchor: Anchor,
    /// The words. One line.
    pub content: String,
}

/// A filled polygon.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// The corners, mm; the last joins the first.
    pub outline: Vec<DVec2>,
    /// Red, green, blue.
    pub color: [u8; 3],
}

impl Curve {
    /// A curve of straight pieces.
    pub fn polyline(points: impl IntoIterator<Item = DVec2>, closed: bool) -> Self {
        let knots = points.into_iter().map(|at| Knot { at, bulge: 0.0 }).collect();
        Self { knots, closed }
    }

    /// The pieces as pairs of knots; a closed curve includes the one back to the first.
    pub fn pieces(&self) -> impl Iterator<Item = (Knot, Knot)> + '_ {
        let n = self.knots.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        (0..count).map(move |i| (self.knots[i], self.knots[(i + 1) % n]))
    }

    /// Length along the curve, mm, arcs exactly.
    pub fn length(&self) -> f64 {
        self.pieces().map(|(a, b)| piece_length(a, b)).sum()
    }

    /// Points along the curve, mm, no chord further than `tolerance` from its arc; a closed curve
    /// does not repeat its first point. The tolerance must be above 0.
    pub fn flatten(&self, tolerance: f64) -> Vec<DVec2> {
        let mut points: Vec<DVec2> = Vec::new();
        for (a, b) in self.pieces() {
            points.push(a.at);
            if let Some(arc) = Arc::between(a, b) {
                let steps = arc.chords(tolerance);
                points.extend((1..steps).map(|i| arc.at(f64::from(i) / f64::from(steps))));
            }
        }
        if !self.closed {
            points.extend(self.knots.last().map(|k| k.at));
        }
        points
    }

    /// Signed area enclosed, mm², arcs exactly: positive when counter-clockwise.
    /// An open curve is closed by a straight line.
    pub fn area(&self) -> f64 {
        let n = self.knots.len();
        let chords: f64 =
            (0..n).map(|i| self.knots[i].at.perp_dot(self.knots[(i + 1) % n].at)).sum();
        let segments: f64 = self.pieces().map(|(a, b)| segment_area(a, b)).sum();
        chords / 2.0 + segments
    }
}

fn piece_length(a: Knot, b: Knot) -> f64 {
    let chord = a.at.distance(b.at);
    let angle = 4.0 * a.bulge.atan();
    if angle == 0.0 { chord } else { chord * angle / (2.0 * (angle / 2.0).sin()) }
}

/// Area between an arc and its chord; positive where the arc lies to the right of the chord,
/// as it does on a counter-clockwise outline that bulges outward.
fn segment_area(a: Knot, b: Knot) -> f64 {
    if a.bulge == 0.0 {
        return 0.0;
    }
    let angle = 4.0 * a.bulge.atan();
    let radius = a.at.distance(b.at) / (2.0 * (angle / 2.0).sin());
    radius * radius * (angle - angle.sin()) / 2.0
}

impl Drawing {
    /// Smallest and largest coordinates of all lines, areas and text anchors (arcs by their
    /// true extent), or `None` for an empty drawing.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let mut points: Vec<DVec2> = Vec::new();
        for item in &self.items {
            match item {
                Item::Path(path) => {
                    points.extend(path.curve.knots.iter().map(|k| k.at));
                    for (a, b) in path.curve.pieces() {
                        points.extend(arc_extremes(a, b));
                    }
                }
                Item::Text(text) => points.push(text.at),
                Item::Area(area) => points.extend(&area.outline),
            }
        }
        let first = *points.first()?;
        Some(points.iter().fold((first, first), |(lo, hi), p| (lo.min(*p), hi.max(*p))))
    }
}

/// The points of the arc from `a` to `b` that are furthest along an axis.
fn arc_extremes(a: Knot, b: Knot) -> Vec<DVec2> {
    if a.bulge == 0.0 || a.at == b.at {
        return Vec::new();
    }
    let (center, radius) = arc_circle(a, b);
    let start = (a.at - center).to_angle();
    let sweep = 4.0 * a.bulge.atan();
    (0..4)
        .map(|q| f64::from(q) * std::f64::consts::FRAC_PI_2)
        .filter(|angle| {
            let ahead = (angle - start) * sweep.signum();
            ahead.rem_euclid(std::f64::consts::TAU) <= sweep.abs()
        })
        .map(|angle| center + radius * DVec2::from_angle(angle))
        .collect()
}

/// A circular arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre of the circle, mm.
    pub center: DVec2,
    /// Radius, mm.
    pub radius: f64,
    /// Direction from the centre to the first point, radians counter-clockwise from the x axis.
    pub start: f64,
    /// Radians turned from the first point to the last; positive is counter-clockwise.
    pub sweep: f64,
}

impl Arc {
    /// The arc of a piece, or `None` where the piece is straight or has no length.
    pub fn between(a: Knot, b: Knot) -> Option<Self> {
        // A rise this small is lost in the rounding of any file, and its radius overflows.
        let rise = a.bulge.abs() * a.at.distance(b.at) / 2.0;
        if rise < 1e-9 {
            return None;
        }
        let (center, radius) = arc_circle(a, b);
        let start = (a.at - center).to_angle();
        Some(Self { center, radius, start, sweep: 4.0 * a.bulge.atan() })
    }

    /// The point at a share (0 to 1) of the arc.
    pub fn at(&self, share: f64) -> DVec2 {
        self.center + self.radius * DVec2::from_angle(self.start + share * self.sweep)
    }

    /// How many equal chords keep within `tolerance` of the arc.
    fn chords(&self, tolerance: f64) -> u32 {
        let cosine = (1.0 - tolerance / self.radius).clamp(0.0, 1.0);
        let widest = (2.0 * cosine.acos()).max(1e-4);
        (self.sweep.abs() / widest).ceil().max(1.0) as u32
    }
}

/// Centre and radius of the arc from `a` to `b`. The bulge of `a` must not be 0.
pub fn arc_circle(a: Knot, b: Knot) -> (DVec2, f64) {
    let chord = b.at - a.at;
    let to_center = (1.0 - a.bulge * a.bulge) / (4.0 * a.bulge);
    let center = (a.at + b.at) / 2.0 + chord.perp() * to_center;
    (center, center.distance(a.at))
}
