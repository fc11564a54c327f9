//! What is entered, what stands for what is not, and which entries contradict each other.

use super::super::build::{LastMeasures, against, within};
use super::TapeError;
use crate::foot::Foot;

/// The shape of the toe, seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Toe {
    /// A half circle, about.
    #[default]
    Round,
    /// Drawn out to a blunt point.
    Almond,
    /// Cut off.
    Square,
    /// Drawn out to a point.
    Pointed,
}

impl Toe {
    /// Every shape with its word.
    pub const WORDS: [(&'static str, Toe); 4] = [
        ("round", Toe::Round),
        ("almond", Toe::Almond),
        ("square", Toe::Square),
        ("pointed", Toe::Pointed),
    ];

    /// On the builder's scale from square (-1) to pointed (1).
    fn point(self) -> f64 {
        match self {
            Toe::Round => 0.0,
            Toe::Almond => 0.45,
            Toe::Square => -0.9,
            Toe::Pointed => 0.9,
        }
    }

    /// How much longer than its standard length such a last is, in parts of that, where nothing
    /// is entered (common practice, no source): told in mm of a standard length of 260 mm.
    fn usual_extension(self) -> f64 {
        let of_260 = match self {
            Toe::Round => 0.0,
            Toe::Almond => 6.0,
            Toe::Square => 4.0,
            Toe::Pointed => 15.0,
        };
        of_260 / 260.0
    }

    /// The standard length of a last that is `length` long overall, with the usual extension.
    pub(super) fn standard_length_of(self, length: f64) -> f64 {
        length / (1.0 + self.usual_extension())
    }
}

/// What tape, ruler and size stick read, mm. What is `None` follows the rest. Girths and widths
/// are taken as [`super::super::measure`] takes them.
#[derive(Debug, Clone, PartialEq)]
pub struct TapeMeasures {
    /// Left or right.
    pub foot: Foot,
    /// The standard last length, of the size.
    pub standard_last_length: f64,
    /// The shape of the toe.
    pub toe: Toe,
    /// How much longer the last is than its standard length.
    pub toe_extension: Option<f64>,
    /// Overall length, from the rearmost to the foremost point.
    pub length: Option<f64>,
    /// Round the ball.
    pub ball_girth: Option<f64>,
    /// Round the waist.
    pub waist_girth: Option<f64>,
    /// Round the instep.
    pub instep_girth: Option<f64>,
    /// Round heel and instep.
    pub long_heel_girth: Option<f64>,
    /// Round heel and throat.
    pub short_heel_girth: Option<f64>,
    /// Across the seat.
    pub seat_width: Option<f64>,
    /// Across the tread.
    pub tread_width: Option<f64>,
    /// Height of the seat point above the ground.
    pub heel_height: Option<f64>,
    /// Height of the foremost point of the feather line above the ground.
    pub toe_spring: Option<f64>,
    /// Up the centre back, three places at most, rising: height above the seat, and how far in
    /// front of the seat point the back is there (negative where it is behind).
    pub back_curve: Vec<(f64, f64)>,
    /// Radius of the edge between wall and bottom; 0 is sharp.
    pub edge_radius: Option<f64>,
}

/// Heights at which the back curve can be entered.
pub(super) const BACK_POINTS: usize = 3;

/// No shorter than its size by more than this, mm: a size stick is read no closer.
const SHORTER: f64 = 1.0;

impl TapeMeasures {
    /// Nothing known but the size.
    pub fn of_size(standard_last_length: f64, foot: Foot) -> Self {
        Self {
            foot,
            standard_last_length,
            toe: Toe::Round,
            toe_extension: None,
            length: None,
            ball_girth: None,
            waist_girth: None,
            instep_girth: None,
            long_heel_girth: None,
            short_heel_girth: None,
            seat_width: None,
            tread_width: None,
            heel_height: None,
            toe_spring: None,
            back_curve: Vec::new(),
            edge_radius: None,
        }
    }

    /// The extension of the toe: as entered, or what the length is beyond the standard length,
    /// or what the shape of the toe usually has.
    pub fn extension(&self) -> f64 {
        self.toe_extension
            .or(self.length.map(|l| (l - self.standard_last_length).max(0.0)))
            .unwrap_or(self.toe.usual_extension() * self.standard_last_length)
    }

    /// The measures to build to. A right last: the left one is its mirror image.
    ///
    /// What is not entered: heel height 25 mm, toe spring 12 mm, edge radius 1.5 mm (common practice, no source),
    /// and the girth and the widths of [`LastMeasures::for_size`]; where the ball is entered and a
    /// width is not, that width in the proportion of the balls.
    pub(super) fn to_build(&self) -> Result<LastMeasures, TapeError> {
        self.check_length()?;
        if let Some(ball) = self.ball_girth {
            // Golding's scale of 1902 goes from 1.05 at child 1 to 0.82 at adult 6.
            let length = ("standard last length", self.standard_last_length);
            against(("ball girth", ball), length, 0.68, 1.25)?;
        }
        let extension = self.extension();
        let mut build = LastMeasures::for_size(self.standard_last_length, Foot::Right);
        let usual = build.ball_girth;
        build.ball_girth = self.ball_girth.unwrap_or(usual);
        let fuller = build.ball_girth / usual;
        build.seat_width = self.seat_width.unwrap_or(build.seat_width * fuller);
        build.tread_width = self.tread_width.unwrap_or(build.tread_width * fuller);
        build.heel_height = self.heel_height.unwrap_or(build.heel_height);
        build.toe_spring = self.toe_spring.unwrap_or(build.toe_spring);
        build.edge_radius = self.edge_radius.unwrap_or(1.5);
        build.length = self.length.unwrap_or(self.standard_last_length + extension);
        build.toe_extension = extension;
        build.toe_point = self.toe.point();
        build.resolution = (self.standard_last_length / 104.0).min(2.5);
        let behind =
            self.back_curve.iter().map(|(_, back)| -back).fold(f64::NEG_INFINITY, f64::max);
        if behind > 0.0 {
            build.back_bulge = behind.clamp(2.0, 10.0);
        }
        build.check()?;
        self.check_girths(&build)?;
        self.check_back(&build)?;
        Ok(build)
    }

    fn check_length(&self) -> Result<(), TapeError> {
        let standard_last_length = self.standard_last_length;
        within(("standard last length", standard_last_length), 80.0, 400.0)?;
        let Some(length) = self.length else { return Ok(()) };
        let beyond = length - standard_last_length;
        let off = match self.toe_extension {
            Some(extension) => (beyond - extension).abs() > SHORTER,
            None => beyond < -SHORTER,
        };
        if off {
            return Err(TapeError::Length { length, standard_last_length });
        }
        Ok(())
    }

    /// Girths against their neighbours (common practice, no source: wider apart than those of any
    /// last that was tried).
    fn check_girths(&self, build: &LastMeasures) -> Result<(), TapeError> {
        let ball = ("ball girth", build.ball_girth);
        let named = |name, value: Option<f64>| value.map(|value| (name, value));
        let waist = named("waist girth", self.waist_girth);
        let instep = named("instep girth", self.instep_girth);
        let long = named("long heel girth", self.long_heel_girth);
        let short = named("short heel girth", self.short_heel_girth);
        for (girth, other, low, high) in [
            (waist, Some(ball), 0.78, 1.12),
            (instep, Some(ball), 0.75, 1.20),
            (instep, waist, 0.88, 1.16),
            (long, Some(ball), 1.20, 1.85),
            (long, instep, 1.25, 1.85),
            (short, Some(ball), 1.0, 1.65),
            (short, long, 0.72, 1.02),
        ] {
            if let (Some(girth), Some(other)) = (girth, other) {
                against(girth, other, low, high)?;
            }
        }
        Ok(())
    }

    fn check_back(&self, build: &LastMeasures) -> Result<(), TapeError> {
        let points = &self.back_curve;
        let wrong = |what: String| Err(TapeError::BackCurve(what));
        if points.len() > BACK_POINTS {
            return wrong(format!("has {} heights; enter at most {BACK_POINTS}", points.len()));
        }
        let highest = 0.92 * build.top_height;
        let mut below = (0.0, 0.0);
        for &(height, back) in points {
            if !(below.0 + 8.0..=highest).contains(&height) {
                return wrong(format!(
                    "is given {height} mm above the seat: the heights must rise by 8 mm or more each, \
                     and lie below {highest:.0} mm, where the wall of this last ends"
                ));
            }
            let steepest = 0.9 * (height - below.0);
            let slant = (back - below.1).abs();
            if slant.is_nan() || slant > steepest {
                return wrong(format!(
                    "goes from {} mm to {back} mm between {} and {height} mm above the seat: no last is \
                     that slanted there; measure how far it stands in front of the seat point (negative \
                     where it is behind)",
                    below.1, below.0
                ));
            }
            below = (height, back);
        }
        Ok(())
    }
}
