//! The `job.toml` of a new job, with comments for the person who opens it in an editor.

use geometry::units::{Mm, Unit};

use super::settings::{Job, Last, Marks, Range, Stiffener, Topline, Wearer};
use crate::foot::Foot;
use crate::size::Size;
use crate::stiffener::brief::Brief;
use crate::stiffener::heights;
use crate::stiffener::margin::Widths;

/// What a new job starts with.
#[derive(Debug, Clone, PartialEq)]
pub struct NewJob {
    /// What the user calls it.
    pub name: String,
    /// Anything worth keeping with it, such as where the scan is from.
    pub note: String,
    /// The size that the last is made for.
    pub size: Size,
    /// The unit of the mesh, where known.
    pub unit: Option<Unit>,
    /// Which foot, where known.
    pub foot: Option<Foot>,
    /// The heel height, where known.
    pub heel_height: Option<Mm>,
    /// How the last stands, where that is to be kept: as in the settings.
    pub pose: Option<[[f64; 4]; 4]>,
}

impl NewJob {
    /// The settings that the job begins with, its mesh called `file`.
    pub fn job(&self, file: &str) -> Job {
        Job {
            schema: super::SCHEMA,
            name: self.name.clone(),
            note: self.note.clone(),
            last: Last {
                file: file.to_owned(),
                size: self.size,
                fitting: None,
                unit: self.unit,
                foot: self.foot,
                heel_height: self.heel_height,
                pose: self.pose,
            },
            marks: Marks::default(),
            stiffener: Stiffener::default(),
            wearer: Wearer::default(),
            topline: Topline::default(),
            range: Range::default(),
        }
    }
}

/// The text of `job.toml` for a new job whose mesh is called `file`.
///
/// A remark with a number holds what counts without it, so that using the remark changes
/// nothing. What is found on the scan or measured on the wearer has no number in its remark:
/// an example left standing would be taken for a measure.
pub(super) fn text(new: &NewJob, file: &str) -> String {
    let optional = |key: &str, value: Option<String>, meaning: &str| match value {
        Some(value) => format!("{key} = {value}  # {meaning}\n"),
        None => format!("# {meaning}; found on the scan if not given:\n# {key} =\n"),
    };
    let brief: Brief = new.job(file).brief();
    let back_height = heights::back_height(brief.standard_last_length) + brief.settling;
    format!(
        r#"# A Featherline job. Lengths in millimetres. Lines that start with # are remarks;
# take the # away to use what stands behind it. Those without a value want yours.
schema = 1
name = {name}
note = {note}

[last]
file = {file}  # the scan, in this folder
size = {size}  # with its system: EU, UK, UK child, US men, US women, JP, ...
# the fitting (width) it is made for, in quotes; needed only to make other fittings of it:
# fitting =
{unit}{foot}{heel}{pose}
[stiffener]
construction = "cemented"  # or "welted", "strobel", "stitched_outward"
kind = "leather"  # or "fibreboard", "thermoplastic", "moulded"
insole_on_last = false  # true if the insole was on the last when it was scanned
# thickness = {thickness:?}  # of the stiffener; measure your own material
# insole_thickness = {insole:?}
# lining_thickness = {lining:?}
# margin = {margin:?}  # the lasting margin
# back_height = {back_height:.1}  # up the centre back, in place of the rule

[stiffener.medial]  # the inside wing
length = "long"  # or "mid_waist", "short"
# behind_joint = {behind_joint:?}  # where a long wing ends
# end_height = {end_height:?}  # its height there

[stiffener.lateral]  # the outside wing
length = "long"

[wearer]
# Height in mm of the lower border of each ankle bone above the insole, measured upright on
# the wearer of this foot. It wins over every rule of thumb. Inside, then outside:
# ankle_medial =
# ankle_lateral =
# For the share of people whose ankle the edge would reach, by survey: how far the border of the
# bone lies below the point that was measured (10 mm if not given), and how high the feather line
# lies above the lowest place of the seat (measured if not given):
# ankle_drop =
# feather_height =

[range]  # when other sizes are made of this last; "graded" is in proportion to the length
# heel_height = "kept"  # or "graded"
# toe_spring = "kept"  # or "graded"
# top = "kept"  # or "graded", with the ball girth
"#,
        name = quoted(&new.name),
        note = quoted(&new.note),
        file = quoted(file),
        thickness = brief.thickness,
        insole = brief.insole,
        lining = brief.lining,
        margin = Widths::by_rule(&brief).net,
        behind_joint = brief.medial.behind_joint,
        end_height = brief.medial.end_height,
        size = quoted(&new.size.to_string()),
        unit = optional(
            "unit",
            new.unit.map(|u| quoted(&u.to_string())),
            "the unit of the scan: \"mm\", \"cm\", \"m\" or \"in\"",
        ),
        foot = optional(
            "foot",
            new.foot.map(|f| quoted(&f.to_string())),
            "the foot: \"left\" or \"right\"",
        ),
        pose = new.pose.map_or(String::new(), |rows| {
            let row = |row: &[f64; 4]| format!("    {row:?},\n");
            let rows: String = rows.iter().map(row).collect();
            format!(
                "# How the last stands, from the scan to the last frame; without it that is found anew:\n\
                 pose = [\n{rows}]\n"
            )
        }),
        heel = optional(
            "heel_height",
            new.heel_height.map(|h| format!("{:?}", h.get())),
            "the height of the seat above the ground",
        ),
    )
}

/// A text in quotes as TOML wants them.
fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}
