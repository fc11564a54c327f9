//! The `job.toml` of a new job, with comments for the person who opens it in an editor.

use geometry::units::{Mm, Unit};

use crate::foot::Foot;
use crate::size::Size;

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
}

/// The text of `job.toml` for a new job whose mesh is called `file`.
pub(super) fn text(new: &NewJob, file: &str) -> String {
    let optional = |key: &str, value: Option<String>, example: &str, meaning: &str| match value {
        Some(value) => format!("{key} = {value}  # {meaning}\n"),
        None => format!("# {key} = {example}  # {meaning}\n"),
    };
    format!(
        r#"# A Featherline job. Lengths in millimetres. Lines that start with # are remarks;
# take the # away to use what stands behind it.
schema = 1
name = {name}
note = {note}

[last]
file = {file}  # the scan, in this folder
size = {size}  # EU, UK or UK child
{unit}{foot}{heel}
[stiffener]
construction = "cemented"  # or "welted", "strobel", "stitched_outward"
kind = "leather"  # or "fibreboard", "thermoplastic", "moulded"
insole_on_last = false  # true if the insole was on the last when it was scanned
# thickness = 2.5  # of the stiffener; measure your own material
# insole_thickness = 2.0
# lining_thickness = 1.0
# margin = 13.5  # the lasting margin
# back_height = 51.0  # up the centre back, in place of the rule

[stiffener.medial]  # the inside wing
length = "long"  # or "mid_waist", "short"
# behind_joint = 15.0  # where a long wing ends
# end_height = 18.0  # its height there

[stiffener.lateral]  # the outside wing
length = "long"

[wearer]
# Height of the lower border of each ankle bone above the insole, measured upright on the
# wearer of this foot. It wins over every rule of thumb.
# ankle_medial = 62.0  # inside
# ankle_lateral = 52.0  # outside
"#,
        name = quoted(&new.name),
        note = quoted(&new.note),
        file = quoted(file),
        size = quoted(&new.size.to_string()),
        unit = optional(
            "unit",
            new.unit.map(|u| quoted(&u.to_string())),
            "\"mm\"",
            "of the scan: mm, cm, m or in; found from its extent if not given",
        ),
        foot = optional(
            "foot",
            new.foot.map(|f| quoted(&f.to_string())),
            "\"right\"",
            "left or right; found from the shape if not given",
        ),
        heel = optional(
            "heel_height",
            new.heel_height.map(|h| format!("{:?}", h.get())),
            "20.0",
            "of the seat above the ground; measured if not given",
        ),
    )
}

/// A text in quotes as TOML wants them.
fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}
