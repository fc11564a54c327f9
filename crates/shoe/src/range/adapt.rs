//! The job of another size: what the user set for the base, as it holds there.

use geometry::units::Mm;
use geometry::warned::Warning;

use super::Wanted;
use crate::foot::{Foot, Side};
use crate::job::{Job, Marks};
use crate::stiffener::heights;

/// The settings of `job` for what is `wanted`; its own foot is `own_foot`. Marks are left out:
/// they went along with the last.
///
/// Heights that the user set in place of a rule go on with the rule: they keep their distance
/// from it. A topline grows in proportion. Ankle heights that were measured on a wearer hold for
/// that foot's size: smaller sizes take them in proportion, larger ones no higher, which is the
/// safe side.
pub(super) fn job_for(job: &Job, wanted: &Wanted, own_foot: Foot) -> (Job, Vec<Warning>) {
    let Wanted { size, fitting, foot } = *wanted;
    let mut other = job.clone();
    other.last.size = size;
    if let Some(fitting) = fitting {
        other.last.fitting = Some(fitting.to_string());
    }
    other.last.foot = Some(foot);
    other.last.pose = None;
    other.marks = Marks::default();
    let mut warnings = Vec::new();
    let [from, to] = [job.last.size, size].map(|s| s.standard_last_length().get());
    if from == to {
        return (other, warnings);
    }
    let times = to / from;
    let moved = |length: &mut Option<Mm>, by: f64| {
        if let Some(length) = length {
            *length = Mm::new(length.get() + by);
        }
    };
    moved(&mut other.stiffener.back_height, heights::back_height(to) - heights::back_height(from));
    let ceiling = |side| heights::ankle_ceiling(side, to) - heights::ankle_ceiling(side, from);
    moved(&mut other.stiffener.medial.ceiling, ceiling(Side::Medial));
    moved(&mut other.stiffener.lateral.ceiling, ceiling(Side::Lateral));
    let scaled = |length: &mut Mm, times: f64| *length = Mm::new(length.get() * times);
    if let Some(back) = &mut other.topline.back {
        scaled(back, times);
    }
    for row in &mut other.topline.heights {
        scaled(&mut row.along, times);
        scaled(&mut row.medial, times);
        scaled(&mut row.lateral, times);
    }
    let wearer = &mut other.wearer;
    for (key, height) in [
        ("wearer.ankle_medial", &mut wearer.ankle_medial),
        ("wearer.ankle_lateral", &mut wearer.ankle_lateral),
    ] {
        if let Some(height) = height {
            let measured = height.get();
            scaled(height, times.min(1.0));
            warnings.push(Warning {
                place: key.into(),
                message: format!(
                    "{measured:.1} mm was measured on a wearer of {} ({own_foot} foot); for {size} {:.1} mm \
                     is taken",
                    job.last.size,
                    height.get()
                ),
                hint: "measure a wearer of that size, and draft it as a job of its own".into(),
            });
        }
    }
    (other, warnings)
}
