//! What is told to the user about what was found: findings and warnings.

use geometry::mesh::TriMesh;
use geometry::warned::Warning;

use super::feather::{EdgeKind, Traced};
use super::given::Given;
use super::joints::Widest;
use super::level::Level;
use super::marks::{BREAST, Finding, Foot, Found, GivenMarks};
use super::settle::Told;

/// The length of a form against its standard last length: up to a quarter longer with a long
/// pointed toe, shorter only by the slant of the measure. A rule of thumb, no source.
pub(crate) const LENGTH_FOR_SIZE: std::ops::RangeInclusive<f64> = 0.92..=1.25;

/// Warns where the form is much shorter or longer than its size says.
pub(super) fn size(length: f64, standard_length: f64, warnings: &mut Vec<Warning>) {
    if !LENGTH_FOR_SIZE.contains(&(length / standard_length)) {
        warnings.push(Warning {
            place: "size".into(),
            message: format!(
                "the form is {length:.0} mm long, the size says a standard length of \
                 {standard_length:.0} mm"
            ),
            hint: "check the size and the unit of the file".into(),
        });
    }
}

/// Warns of given marks that lie far off the surface, as when they belong to another file;
/// `marks` and `mesh` in the same frame, mm.
pub(super) fn off_surface(marks: &GivenMarks, mesh: &TriMesh, warnings: &mut Vec<Warning>) {
    // Measured to the vertices, so a coarse mesh alone makes some millimetres.
    const FAR: f64 = 15.0;
    let mut told = "";
    for (name, at) in marks.points().filter(|(name, _)| *name != BREAST) {
        let away = mesh.positions.iter().map(|p| p.distance(at)).fold(f64::INFINITY, f64::min);
        if away > FAR && name != told {
            told = name;
            warnings.push(Warning {
                place: name.into(),
                message: format!("the given {name} lies {away:.0} mm off the surface"),
                hint: "check that it was placed on this scan, and in the unit of the file".into(),
            });
        }
    }
}

impl Told {
    /// The foot that the surface shows, whatever the user says, and how surely, 0 to 1.
    pub(super) fn foot_by_shape(&self) -> (Foot, f64) {
        if self.by_joints { (self.foot, 1.0) } else { (self.signs.foot(), self.signs.sureness()) }
    }

    /// The foot as found, or a warning where the user says otherwise than the surface.
    pub(super) fn foot_told(
        &self,
        given: Option<Foot>,
        found: &mut Vec<Finding>,
        warnings: &mut Vec<Warning>,
    ) {
        let signs = &self.signs;
        let to = |value: f64| if value >= 0.0 { "left" } else { "right" };
        let by = format!(
            "the joint lies {:.0} mm further forward on the {}, the waist is {:.1} mm more hollow \
             on the {}, and the toe swings {:.0} mm to the {}",
            signs.joint_ahead.abs(),
            to(signs.joint_ahead),
            signs.hollow.abs(),
            to(signs.hollow),
            signs.swing.abs(),
            to(signs.swing)
        );
        if let Some(foot) = given {
            let (other, sure) = self.foot_by_shape();
            if other != foot && sure > 0.5 {
                warnings.push(Warning {
                    place: "foot".into(),
                    message: format!("the form looks like a {other} last, not {foot}: {by}"),
                    hint: "check the foot; a scan may also have been mirrored".into(),
                });
            }
            return;
        }
        let sureness = if self.by_joints { 1.0 } else { signs.sureness() };
        let sentence = if self.by_joints {
            format!("A {} foot, by the joints that were placed.", self.foot)
        } else {
            format!("A {} foot: {by}.", self.foot)
        };
        if sureness < 0.4 {
            warnings.push(Warning {
                place: "foot".into(),
                message: format!("left or right hardly shows; taken as {}", self.foot),
                hint: "say which foot it is".into(),
            });
        }
        found.push(Finding { what: Found::Foot(self.foot), sureness, sentence });
    }
}

/// Standard last length as found.
pub(super) fn standard_length(length: f64) -> Finding {
    let sentence = format!(
        "No size was given; by its length and its inside joint it is about EU {}.",
        (length * 0.3).round() / 2.0
    );
    Finding { what: Found::StandardLength(length), sureness: 0.3, sentence }
}

/// A heel height given may differ by this much from what the tread shows, mm: the tread of a right
/// last shows it within 4 mm.
const HEEL_APART: f64 = 10.0;

/// Heel height as found.
pub(super) fn heel_height(
    given: &Given,
    level: &Level,
    edge: EdgeKind,
    found: &mut Vec<Finding>,
    warnings: &mut Vec<Warning>,
) {
    let height = level.heel_height;
    if given.heel_height.is_some() {
        let shown = level.heel_height_by_tread;
        if (shown - height).abs() > HEEL_APART {
            warnings.push(Warning {
                place: "heel height".into(),
                message: format!(
                    "it was given as {height:.0} mm; by its tread the last stands at about \
                     {shown:.0} mm"
                ),
                hint:
                    "measure the heel height of the last again: length, toe spring and ball girth \
                       follow it"
                        .into(),
            });
        }
        return;
    }
    let (sureness, sentence) = match (given.last_from_file.is_some(), edge) {
        (true, _) => (0.9, format!("In the given pose the seat stands at {height:.0} mm.")),
        (_, EdgeKind::Absent) => {
            (0.8, "Without an edge it rests on heel and ball: no heel.".into())
        }
        _ => (
            0.6,
            format!(
                "Stood so that its tread is lowest under the joint line, the seat is at \
                 {height:.0} mm; a tread that is lowest a little further forward or back makes \
                 that 4 mm more or less, so enter the heel height where you know it."
            ),
        ),
    };
    if !(-2.0..=120.0).contains(&height) {
        warnings.push(Warning {
            place: "heel height".into(),
            message: format!("the heel height found, {height:.0} mm, is hardly one"),
            hint: "enter the heel height".into(),
        });
    }
    found.push(Finding { what: Found::HeelHeight(height), sureness, sentence });
}

/// The feather line as found.
pub(super) fn feather_line(
    traced: &Traced,
    given: bool,
    found: &mut Vec<Finding>,
    warnings: &mut Vec<Warning>,
) {
    if given {
        return;
    }
    let sentence = match traced.edge {
        EdgeKind::Sharp => "The feather line follows a sharp edge.",
        EdgeKind::Rounded => "The edge is rounded; the feather line is the middle of the rounding.",
        EdgeKind::Absent => {
            "There is no feather line: no edge shows between bottom and wall. The edge of the ground \
             contact is taken, where the surface faces half-way between down and outward"
        }
    };
    if traced.edge == EdgeKind::Absent {
        warnings.push(Warning {
            place: "feather line".into(),
            message: sentence.into(),
            hint: "a foot has no feather line: use a last, or correct the line by hand".into(),
        });
    } else if traced.sureness < 0.5 {
        warnings.push(Warning {
            place: "feather line".into(),
            message: format!("the feather line is not clear (sureness {:.1})", traced.sureness),
            hint: "look at it all round and correct it where it strays".into(),
        });
    }
    found.push(Finding {
        what: Found::FeatherLine,
        sureness: traced.sureness,
        sentence: sentence.into(),
    });
}

/// A joint as found.
pub(super) fn joint(
    what: Found,
    name: &str,
    widest: &Widest,
    level: &Level,
    line_sureness: f64,
) -> Finding {
    let part = 100.0 * widest.at.x / level.length;
    if widest.at_border {
        let sentence = format!(
            "The bottom is still widening at {part:.0} % of its length; the {name} joint is put \
             there, place it by hand."
        );
        return Finding { what, sureness: 0.2 * line_sureness, sentence };
    }
    let sentence =
        format!("The {name} joint is the widest place on its side, at {part:.0} % of the length.");
    Finding { what, sureness: 0.85 * line_sureness, sentence }
}

/// The top of the centre back as found; `height` above the seat, 0 where no wall was found.
pub(super) fn centre_back_top(height: f64) -> Finding {
    let what = Found::CentreBackTop;
    if height <= 0.0 {
        let sentence = "No wall rises from the seat; place the top of the centre back.".into();
        return Finding { what, sureness: 0.0, sentence };
    }
    let sentence = format!(
        "The wall above the seat ends {height:.0} mm above it, where the surface ends or bends \
         into the top."
    );
    Finding { what, sureness: 0.7, sentence }
}
