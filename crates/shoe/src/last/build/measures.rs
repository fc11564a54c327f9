//! What a built last is asked for: its measures, their defaults, and which of them contradict.

use super::BuildError;
pub use crate::foot::Foot;

/// The measures of a last to build, all in mm. Start from [`LastMeasures::for_size`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastMeasures {
    /// Overall length along x, from the rearmost bulge of the back to the foremost point of
    /// the toe, the last standing on its heel height.
    pub length: f64,
    /// Tape round the ball: the convex hull of the section by the upright plane through both
    /// joints.
    pub ball_girth: f64,
    /// Height of the seat point above the ground.
    pub heel_height: f64,
    /// Height of the foremost point of the feather line above the ground.
    pub toe_spring: f64,
    /// Width in y of the feather line over its rear 30 %.
    pub seat_width: f64,
    /// Width in y of the feather line over its front half: across both joints.
    pub tread_width: f64,
    /// Left or right.
    pub foot: Foot,
    /// Radius of the rounding between bottom and wall; 0 makes a sharp feather edge.
    pub edge_radius: f64,
    /// Edge length of the triangles.
    pub resolution: f64,
    /// Height of the flat top (cone) above the seat point.
    pub top_height: f64,
    /// Length of the flat top.
    pub top_length: f64,
    /// Width of the flat top.
    pub top_width: f64,
    /// How far the back bulges behind the seat point, about.
    pub back_bulge: f64,
    /// How far the toe point of the feather line swings to the inside of the axis through the
    /// seat.
    pub toe_swing: f64,
    /// How far the bottom bulges below the chord across the tread, about.
    pub tread_dome: f64,
    /// How far the feather line rises in the waist above an even slope, about; the inside
    /// rises more.
    pub arch: f64,
    /// Shape of the toe: 0 round, towards 1 pointed, towards -1 square.
    pub toe_point: f64,
    /// How much longer the last is than its standard length, all of it in front of the joints.
    pub toe_extension: f64,
    /// How much the flat top rises to the front, degrees.
    pub top_tilt: f64,
    /// How much the bottom falls forward at the seat, degrees.
    pub seat_pitch: f64,
    /// How far in front of the middle between the joints the lowest point of the tread lies.
    pub tread_forward: f64,
}

/// Length and widths of the model whose proportions the defaults follow, mm.
pub(super) const MODEL_LENGTH: f64 = 270.0;

impl LastMeasures {
    /// Adult proportions for a last of standard length `sll_mm`, round toe, 25 mm heel, sharp
    /// edge.
    ///
    /// Widths of seat and tread follow the adult columns of Golding's male scale (1902), where
    /// tread = 78.32 + (SLL - 254) / 4 and seat = 57.15 + (SLL - 254) x 3 / 16; the girth
    /// follows the French rule 5 x (size + fitting) with size = SLL x 3 / 20 and fitting 6
    /// (from memory, and bound to that length). Every other value is common practice, no
    /// source.
    pub fn for_size(sll_mm: f64, foot: Foot) -> Self {
        let scale = sll_mm / MODEL_LENGTH;
        Self {
            length: sll_mm,
            ball_girth: 5.0 * (sll_mm * 3.0 / 20.0 + 6.0),
            heel_height: 25.0,
            toe_spring: 12.0,
            seat_width: 57.15 + (sll_mm - 254.0) * 3.0 / 16.0,
            tread_width: 78.32 + (sll_mm - 254.0) / 4.0,
            foot,
            edge_radius: 0.0,
            resolution: 2.5,
            top_height: 80.0 * scale,
            top_length: 88.0 * scale,
            top_width: 29.0 * scale,
            back_bulge: 6.5,
            toe_swing: 5.0 * scale,
            tread_dome: 3.0 * scale,
            arch: 3.5 * scale,
            toe_point: 0.0,
            toe_extension: 0.0,
            top_tilt: 0.0,
            seat_pitch: 0.0,
            tread_forward: 0.0,
        }
    }

    /// Length without the extension of the toe, relative to the model the proportions were
    /// drawn at.
    pub(super) fn scale(&self) -> f64 {
        (self.length - self.toe_extension) / MODEL_LENGTH
    }

    /// Refuses what is no last, naming the measures that contradict each other.
    pub(in crate::last) fn check(&self) -> Result<(), BuildError> {
        within(("length", self.length), 80.0, 400.0)?;
        against(("toe extension", self.toe_extension), ("length", self.length), 0.0, 0.12)?;
        let length = ("length before the extension", self.length - self.toe_extension);
        let scale = self.scale();
        let tread = ("tread width", self.tread_width);
        let seat = ("seat width", self.seat_width);
        let girth = ("ball girth", self.ball_girth);
        let heel = ("heel height", self.heel_height);
        let spring = ("toe spring", self.toe_spring);
        let edge = ("edge radius", self.edge_radius);
        let resolution = ("resolution", self.resolution);
        let height = ("top height", self.top_height);
        let top_length = ("top length", self.top_length);
        let top_width = ("top width", self.top_width);
        against(tread, length, 0.22, 0.42)?;
        against(seat, tread, 0.58, 0.92)?;
        against(girth, tread, 2.5, 3.5)?;
        // 80 mm from EU 36 on.
        within(heel, 0.0, 90.0 * scale.min(80.0 / 90.0))?;
        within(spring, 4.0, 25.0)?;
        within(edge, 0.0, 8.0)?;
        against(edge, seat, 0.0, 0.14)?;
        within(resolution, 0.4, 4.0)?;
        against(resolution, length, 0.0, 0.02)?;
        against(height, length, 0.24, 0.40)?;
        against(top_length, length, 0.24, 0.40)?;
        against(top_width, seat, 0.30, 0.70)?;
        within(("back bulge", self.back_bulge), 2.0, 10.0)?;
        within(("toe swing", self.toe_swing), -2.0 * scale, 12.0 * scale)?;
        within(("tread dome", self.tread_dome), 0.0, 6.0 * scale)?;
        within(("toe point", self.toe_point), -1.0, 1.0)?;
        within(("top tilt", self.top_tilt), -6.0, 12.0)?;
        within(("seat pitch", self.seat_pitch), 0.0, 8.0)?;
        within(("tread forward", self.tread_forward), -4.0 * scale, 4.0 * scale)?;
        within(("arch", self.arch), 0.0, 8.0 * scale)
    }
}

pub(in crate::last) type Named = (&'static str, f64);

pub(in crate::last) fn within((name, value): Named, low: f64, high: f64) -> Result<(), BuildError> {
    // Written so that NaN is refused as well.
    if value >= low && value <= high {
        return Ok(());
    }
    Err(BuildError::OutOfRange { name, value, low, high })
}

pub(in crate::last) fn against(
    (name, value): Named,
    (other, base): Named,
    low: f64,
    high: f64,
) -> Result<(), BuildError> {
    let (low, high) = (low * base, high * base);
    if value >= low && value <= high {
        return Ok(());
    }
    Err(BuildError::Contradiction { name, value, other, base, low, high })
}
