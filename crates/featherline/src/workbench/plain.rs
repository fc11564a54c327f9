//! Errors in the words of the workbench, where people enter values and see no file: without its name
//! and line, and with the entries that they speak of.

use shoe::draft::DraftError;
use shoe::job::{
    ALONG, CommandError, CreateError, EditError, OpenError, SaveError, SettingsError, StepError,
    TOPLINE,
};
use shoe::last::scan::ScanError;
use shoe::last::stand::StandError;
use shoe::range::RangeError;
use shoe::stiffener::StiffenerError;
use shoe::stiffener::edge::EdgeError;
use shoe::stiffener::limits::LimitError;

use super::desk::EditRefused;
use super::trouble::Trouble;

impl Trouble {
    /// A trouble that speaks of entries, which the page names.
    fn about(entries: &[impl ToString], message: String) -> Self {
        let entries = entries.iter().map(ToString::to_string).collect();
        Self { entries, ..Self::plain(message) }
    }
}

/// Errors that speak of no entry, or of files that a person must look at.
macro_rules! as_they_are {
    ($($error:ty),*) => {$(
        impl From<$error> for Trouble {
            fn from(error: $error) -> Self {
                Self::of(&error)
            }
        }
    )*};
}

as_they_are!(OpenError, SaveError, geometry::read::ReadError, std::io::Error);

impl From<SettingsError> for Trouble {
    fn from(error: SettingsError) -> Self {
        match &error {
            SettingsError::NotAllowed { key, .. } if key == "topline.heights" => {
                let message = format!(
                    "these rows cannot be kept; each place may stand in one row only, from {} to \
                     {} mm from the seat, with both heights from {} to {} mm",
                    ALONG.0, ALONG.1, TOPLINE.0, TOPLINE.1
                );
                Self::about(&[key], message)
            }
            SettingsError::Fitting { cause, .. } => {
                Self::about(&["last.fitting"], cause.to_string())
            }
            SettingsError::Size { key, cause, .. } => Self::about(&[key], cause.to_string()),
            SettingsError::NotAllowed { key, found, expected, .. } => {
                // A whole number of millimetres is written without decimals.
                let found = found.strip_suffix(".0").unwrap_or(found);
                Self::about(&[key], format!("{found} is not allowed here; allowed is {expected}"))
            }
            SettingsError::Missing { key, expected, .. } => {
                Self::about(&[key], format!("this must not be empty; it holds {expected}"))
            }
            SettingsError::NotToml { .. }
            | SettingsError::Newer { .. }
            | SettingsError::UnknownKey { .. } => Self::of(&error),
        }
    }
}

impl From<CommandError> for Trouble {
    fn from(error: CommandError) -> Self {
        match &error {
            CommandError::Length { key, expected, cause } => {
                Self::about(&[key], format!("{cause}; allowed is {expected}"))
            }
            CommandError::Size { key, cause } => Self::about(&[key], cause.to_string()),
            CommandError::NotAllowed { key, text, expected } => {
                let message = format!("\"{text}\" is not allowed here; allowed is {expected}");
                Self::about(&[key], message)
            }
            CommandError::UnknownKey { .. } | CommandError::Fixed { .. } => Self::of(&error),
        }
    }
}

impl From<EditError> for Trouble {
    fn from(error: EditError) -> Self {
        match error {
            EditError::Settings(error) => error.into(),
            EditError::MeshMissing { .. } => Self::of(&error),
        }
    }
}

impl From<StepError> for Trouble {
    fn from(error: StepError) -> Self {
        match error {
            StepError::Edit(error) => error.into(),
            StepError::ChangedSince { key, .. } => {
                let message = "this was changed outside the program since; going back would lose \
                               that change";
                Self::about(&[key], message.into())
            }
        }
    }
}

impl From<CreateError> for Trouble {
    fn from(error: CreateError) -> Self {
        match error {
            CreateError::Settings(error) => error.into(),
            CreateError::Exists { .. } | CreateError::Mesh { .. } | CreateError::Write { .. } => {
                Self::of(&error)
            }
        }
    }
}

impl From<EditRefused> for Trouble {
    fn from(error: EditRefused) -> Self {
        match error {
            EditRefused::Edit(error) => error.into(),
            EditRefused::Step(error) => error.into(),
            EditRefused::Save(error) => error.into(),
            other => Self::of(&other),
        }
    }
}

impl From<ScanError> for Trouble {
    fn from(error: ScanError) -> Self {
        let entries: &[&str] = match &error {
            ScanError::Stand(StandError::TooLarge { .. } | StandError::TooSmall { .. }) => {
                &["last.unit"]
            }
            _ => &[],
        };
        let Self { message, .. } = Self::of(&error);
        Self::about(entries, message)
    }
}

impl From<EdgeError> for Trouble {
    fn from(error: EdgeError) -> Self {
        let said = error.to_string();
        match error {
            EdgeError::Conflict { keys, .. } => Self::about(&keys, said),
            EdgeError::NoWing { side, .. } => {
                let joint = format!("marks.joint_{}", side.key());
                Self::about(&[joint, "marks.breast".into()], said)
            }
            EdgeError::Limit(LimitError::ChildAnkle { size, side }) => {
                let message = format!(
                    "size {size} is a child's: no rule and no survey says how high its ankles lie. \
                     Measure both ankles on the child and enter their heights; that of the {side} \
                     ankle is missing"
                );
                Self::about(&["wearer.ankle_medial", "wearer.ankle_lateral"], message)
            }
            EdgeError::Limit(_) | EdgeError::Chart(_) => Self::of(&error),
        }
    }
}

/// Of one size of a range, which the page names itself.
impl From<RangeError> for Trouble {
    fn from(error: RangeError) -> Self {
        match error {
            RangeError::Draft { cause, .. } => (*cause).into(),
            RangeError::Grade { cause, .. } => Self::of(&cause),
            RangeError::NoFitting { .. } => {
                let message = "other fittings are made from that of the last; say which one it has";
                Self::about(&["last.fitting"], message.into())
            }
            RangeError::OtherSystem { .. } => {
                let message = "the last is now of another system of sizes; pick the run anew";
                Self::about(&["last.size"], message.into())
            }
        }
    }
}

impl From<DraftError> for Trouble {
    fn from(error: DraftError) -> Self {
        match error {
            DraftError::Stiffener(StiffenerError::Edge(error)) => error.into(),
            DraftError::Scan(error) => error.into(),
            other => Self::of(&other),
        }
    }
}
