//! Everything but the piece: what the job says, and what was found and reported.

use serde::Serialize;
use shoe::asked::Entry;

use super::last::LastTold;
use super::report::ReportTold;
use crate::workbench::trouble::Trouble;

#[derive(Debug, Serialize)]
pub(in crate::workbench) struct State<'a> {
    pub(in crate::workbench) tell: &'static str,
    pub(in crate::workbench) revision: u64,
    pub(in crate::workbench) job: &'a str,
    pub(in crate::workbench) name: &'a str,
    pub(in crate::workbench) note: &'a str,
    pub(in crate::workbench) undo: Option<String>,
    pub(in crate::workbench) redo: Option<String>,
    pub(in crate::workbench) entries: Vec<Entry>,
    pub(in crate::workbench) last: Option<&'a LastTold>,
    pub(in crate::workbench) trouble: Option<&'a PlacedTrouble>,
    pub(in crate::workbench) report: Option<&'a ReportTold>,
}

/// A trouble with the station of the work at which it can be mended.
#[derive(Debug, Clone, Serialize)]
pub(in crate::workbench) struct PlacedTrouble {
    pub(in crate::workbench) trouble: Trouble,
    pub(in crate::workbench) step: &'static str,
}
