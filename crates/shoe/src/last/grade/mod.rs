//! Grading a last: the same last in another size or fitting.
//!
//! A graded last is the base moved point by point. Along, it grows with the standard last
//! length, but the extension of the toe stays as long as it is. Heights grow with the ball
//! girth; widths, and how full waist and instep are, so that these three girths gain what they are
//! to gain, by the taut tape of [`super::measure`]. Heel height, toe spring and top are kept, or grow in proportion.
//! Every mark and line goes along.
//!
//! All sizes of a last are one family: many small steps lead to the same last as a large one, and
//! a step back returns the first.

mod carry;
mod form;
mod tapes;

use serde::{Deserialize, Serialize};

use super::fit::solved;
use super::stand::Last;
use form::{Form, Shape};
use tapes::Tapes;

/// Whether something stays as it is from size to size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Follow {
    /// It stays.
    #[default]
    Kept,
    /// It grows in proportion to the standard last length; the top to the ball girth.
    Graded,
}

/// What a size asks of a last, and what is to stay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// Its standard last length, mm.
    pub standard_last_length: f64,
    /// What ball, waist and instep girth gain over the base, mm.
    pub girth_gain: f64,
    /// The heel height.
    pub heel_height: Follow,
    /// The toe spring.
    pub toe_spring: Follow,
    /// The height of the top above the seat.
    pub top: Follow,
}

/// Why a last could not be graded.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GradeError {
    /// The marks that girths go over are not where a last has them.
    #[error(
        "the {girth} cannot be measured on the last to be graded; check the marks that it goes \
         over, and place them by hand"
    )]
    NoGirth {
        /// Which girth.
        girth: &'static str,
    },
    /// The feather line does not tell how the bottom runs.
    #[error("the feather line is too short to grade the last along it; place it by hand")]
    NoBottom,
    /// A girth does not answer: its tape lies where nothing is graded.
    #[error(
        "the {girth} of {asked:.1} mm cannot be reached, the nearest is {nearest:.1} mm; check the marks that \
         it goes over: it should lie between the joints and the front of the top"
    )]
    NotMet {
        /// Which girth.
        girth: &'static str,
        /// What was asked, mm.
        asked: f64,
        /// The nearest that was found, mm.
        nearest: f64,
    },
    /// The girths are out of reach.
    #[error(
        "the {girth} of {asked:.1} mm cannot be reached on a last of standard length {length:.1} mm: \
         the last would be {times:.2} times as full there, and {least:.2} to {most:.2} is what a last \
         may be; choose a size or a fitting nearer to the base"
    )]
    TooFar {
        /// Which girth.
        girth: &'static str,
        /// What was asked, mm.
        asked: f64,
        /// The standard last length, mm.
        length: f64,
        /// How many times as wide or high.
        times: f64,
        /// The least allowed.
        least: f64,
        /// The most allowed.
        most: f64,
    },
}

/// Steps towards the girths: a handful is usual.
const STEPS: usize = 40;

/// Widths may grow and shrink by this much: a child's last to a man's is more than anyone
/// grades, and no more like the base.
const WIDTHS: (f64, f64) = (0.6, 1.7);

/// Girths and heights are met this closely, mm: far below what a tape reads, so that a step
/// back returns the base.
const CLOSE: f64 = 2e-5;

/// The girths that are set, in the order of [`Tapes::lengths`].
const GIRTHS: [&str; 3] = ["ball girth", "waist girth", "instep girth"];

/// A last to be graded, measured once.
#[derive(Debug, Clone)]
pub struct Base<'a> {
    last: &'a Last,
    form: Form,
    tapes: Tapes,
    girths: [f64; 3],
}

impl<'a> Base<'a> {
    /// Measures `last`.
    ///
    /// # Errors
    /// When its girths or its bottom cannot be told.
    pub fn new(last: &'a Last) -> Result<Self, GradeError> {
        let form = Form::new(last).ok_or(GradeError::NoBottom)?;
        let tapes = Tapes::new(last);
        let part = tapes.mesh(|v| last.mesh.positions[v]);
        let girths = tapes.lengths(&part, last.marks.clone());
        if let Some(k) = girths.iter().position(|girth| *girth < 1.0) {
            return Err(GradeError::NoGirth { girth: GIRTHS[k] });
        }
        Ok(Self { last, form, tapes, girths })
    }

    /// The last for `target`, standing in its frame, its mesh numbered as the base's.
    ///
    /// Its length is that of the base and what the standard last length gains, exactly; its
    /// girths, heel height and toe spring are met within a few hundred-thousandths of a mm.
    ///
    /// # Errors
    /// When the girths are out of reach.
    pub fn graded(&self, target: &Target) -> Result<Last, GradeError> {
        let base = self.last;
        let asked = self.girths.map(|girth| girth + target.girth_gain);
        let longer = target.standard_last_length / base.standard_last_length;
        let higher = asked[0] / self.girths[0];
        self.within(higher, 0, asked, target)?;
        let follows = |follow, value: f64| match follow {
            Follow::Kept => value,
            Follow::Graded => value * longer,
        };
        let heel = follows(target.heel_height, -base.ground);
        let spring = follows(target.toe_spring, base.marks.toe.at.z - base.ground);

        let mut shape = Shape {
            standard_last_length: target.standard_last_length,
            higher,
            top_kept: target.top == Follow::Kept,
            fuller: [higher.ln(), 0.0, 0.0],
            tread_lowered: 0.0,
            toe_raised: 0.0,
        };
        let mut slopes: Option<[[f64; 3]; 3]> = None;
        let (mut worst, mut nearest) = (0, 0.0);
        for _ in 0..STEPS {
            let miss = self.stand(&mut shape, heel, spring);
            let found = self.girths_of(&shape);
            let off: [f64; 3] = std::array::from_fn(|k| asked[k] - found[k]);
            if miss < CLOSE && off.iter().all(|off| off.abs() < CLOSE) {
                return Ok(carry::carried(base, &self.form.at(&shape), &self.tapes));
            }
            worst = (0..3).max_by(|a, b| off[*a].abs().total_cmp(&off[*b].abs())).unwrap_or(0);
            nearest = found[worst];
            // The slopes hardly change from size to size, and not at all within one.
            let slopes = slopes.get_or_insert_with(|| self.slopes(&shape, &found));
            let rows = std::array::from_fn(|k| {
                let [a, b, c] = slopes[k];
                [a, b, c, off[k]]
            });
            let step = solved::<3, 4>(rows).unwrap_or_default();
            for (fuller, step) in shape.fuller.iter_mut().zip(step) {
                *fuller += step.clamp(-0.2, 0.2);
            }
            for (k, fuller) in shape.fuller.iter().enumerate() {
                self.within(fuller.exp(), k, asked, target)?;
            }
        }
        Err(GradeError::NotMet { girth: GIRTHS[worst], asked: asked[worst], nearest })
    }

    /// Refuses what is `times` as wide or high as the base, if no last would be.
    fn within(
        &self,
        times: f64,
        k: usize,
        asked: [f64; 3],
        target: &Target,
    ) -> Result<(), GradeError> {
        let (least, most) = WIDTHS;
        if (least..=most).contains(&times) {
            return Ok(());
        }
        let (girth, length) = (GIRTHS[k], target.standard_last_length);
        Err(GradeError::TooFar { girth, asked: asked[k], length, times, least, most })
    }

    /// Brings heel height and toe spring to what is asked; returns by how much they were off.
    fn stand(&self, shape: &mut Shape, heel: f64, spring: f64) -> f64 {
        let moved = self.form.at(shape);
        let ground = moved.ground();
        let toe = moved.point(self.last.marks.toe.at).z;
        let (sunk, short) = (ground + heel, spring - (toe - ground));
        shape.tread_lowered += sunk;
        // Lowering the tread lowers the toe with it.
        shape.toe_raised += short;
        sunk.abs().max(short.abs())
    }

    fn girths_of(&self, shape: &Shape) -> [f64; 3] {
        let moved = self.form.at(shape);
        let part = self.tapes.mesh(|v| moved.vertex(v));
        self.tapes.lengths(&part, self.last.marks.moved(|p| moved.point(p)))
    }

    /// How each girth (row) answers to the widths, the waist and the instep (columns).
    fn slopes(&self, shape: &Shape, found: &[f64; 3]) -> [[f64; 3]; 3] {
        const H: f64 = 1e-3;
        let mut slopes = [[0.0; 3]; 3];
        for k in 0..3 {
            let mut fuller = *shape;
            fuller.fuller[k] += H;
            let then = self.girths_of(&fuller);
            for (row, (then, now)) in slopes.iter_mut().zip(then.iter().zip(found)) {
                row[k] = (then - now) / H;
            }
        }
        slopes
    }
}
