//! Shoe sizes as people say them, the last and the foot that each stands for, and fittings.

mod conversion;
pub mod fitting;
mod read;
mod run;
mod system;

use std::fmt;

use geometry::units::Mm;
use serde::{Deserialize, Serialize};

pub use conversion::{Converted, in_every_system};
pub use read::SizeError;
pub use run::{RunError, in_run, through};
pub use system::{Counts, System};

/// The smallest EU size that still counts as an adult's.
const SMALLEST_ADULT_EU: f64 = 35.0;

/// A size in one of the systems. Made by parsing, so it is always within its system.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Size {
    system: System,
    number: f64,
}

impl Size {
    /// The size `number` of `system`, where the system has it.
    pub fn new(system: System, number: f64) -> Option<Self> {
        system.has(number).then_some(Self { system, number })
    }

    /// The size of `system` nearest to `number`, where the system reaches so far.
    pub fn nearest(system: System, number: f64) -> Option<Self> {
        Self::new(system, system.rounded(number))
    }

    /// The system.
    pub fn system(self) -> System {
        self.system
    }

    /// The number in its system.
    pub fn number(self) -> f64 {
        self.number
    }

    /// The standard last length (SLL): the length that the size names, whatever the toe does.
    /// In a system that counts the foot it is the foot's length and the allowance.
    pub fn standard_last_length(self) -> Mm {
        Mm::new(self.system.last_length(self.number))
    }

    /// The length of the foot that the size is for: in a system that counts the last it is the
    /// last's length without the allowance ([`System::allowance`]).
    pub fn foot_length(self) -> Mm {
        Mm::new(self.system.last_length(self.number) - self.system.allowance())
    }

    /// Whether it is a child's size: of a children's system, or shorter than EU 35 (so UK 1
    /// and 2 are). No survey and no rule here covers children's ankles.
    pub fn is_child(self) -> bool {
        self.system.is_for_children()
            || self.standard_last_length().get() < System::Eu.last_length(SMALLEST_ADULT_EU) - 1e-9
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.system.short(), self.number)
    }
}

impl TryFrom<String> for Size {
    type Error = SizeError;
    fn try_from(text: String) -> Result<Self, SizeError> {
        text.parse()
    }
}

impl From<Size> for String {
    fn from(size: Size) -> String {
        size.to_string()
    }
}
