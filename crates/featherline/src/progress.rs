//! Shows on standard error that something is under way, if a person is watching.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget};

/// A running remark that vanishes when dropped. Invisible where standard error is no terminal.
pub(crate) struct Progress(ProgressBar);

impl Progress {
    /// Starts with what is being done.
    pub(crate) fn start(doing: impl Into<String>) -> Self {
        let bar = ProgressBar::new_spinner();
        bar.set_draw_target(ProgressDrawTarget::stderr());
        bar.set_message(doing.into());
        if !bar.is_hidden() {
            bar.enable_steady_tick(Duration::from_millis(120));
        }
        Self(bar)
    }

    /// What is being done now.
    pub(crate) fn now(&self, doing: impl Into<String>) {
        self.0.set_message(doing.into());
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
