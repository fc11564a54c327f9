//! What a built last is asked for: its measures, their defaults, and which of them contradict.

use super::BuildError;

/// Which foot a last is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Foot {
    /// The inside (medial) is -y.
    Left,
    /// The inside (medial) is +y.
    Right,
}

/// The measures of a last to build, all in mm. Start from [`LastMeasures::for_size`].
#[derive(Debug, Clone, PartialEq)]
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
        }
    }

    /// Length relative to the model the proportions were drawn at.
    pub(super) fn scale(&self) -> f64 {
        self.length / MODEL_LENGTH
    }

    /// Refuses what is no last, naming the measures that contradict each other.
    pub(super) fn check(&self) -> Result<(), BuildError> {
        let length = ("length", self.length);
        within(length, 80.0, 400.0)?;
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
        within(heel, 0.0, 70.0 * scale.min(1.0))?;
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
        within(("arch", self.arch), 0.0, 8.0 * scale)
    }
}

type Named = (&'static str, f64);

fn within((name, value): Named, low: f64, high: f64) -> Result<(), BuildError> {
    // Written so that NaN is refused as well.
    if value >= low && value <= high {
        return Ok(());
    }
    Err(BuildError::OutOfRange { name, value, low, high })
}

fn against(
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
