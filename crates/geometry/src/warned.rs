//! A result that arrived, with what the user should know about it.

/// A value together with the warnings met on the way to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Warned<T> {
    /// The result itself.
    pub value: T,
    /// What was noticed, in the order in which it was met.
    pub warnings: Vec<Warning>,
}

/// Something that did not stop the work, but that the user should know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Where: a file, a line of it, a mark, a place on the last.
    pub place: String,
    /// What was found and what was done about it.
    pub message: String,
    /// What the user can do.
    pub hint: String,
}

impl<T> Warned<T> {
    /// A value without warnings.
    pub fn clean(value: T) -> Self {
        Self { value, warnings: Vec::new() }
    }
}
