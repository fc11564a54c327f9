//! What went wrong, for a person, and as an answer over HTTP.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// What went wrong and what to do about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Trouble {
    pub(super) message: String,
    pub(super) hint: Option<String>,
    /// The keys of the entries and marks that it speaks of; the page names them and leads there.
    pub(super) entries: Vec<String>,
}

impl Trouble {
    /// An error with all its causes. Our own messages say what to do after a semicolon.
    pub(super) fn of(error: &dyn std::error::Error) -> Self {
        let mut message = error.to_string();
        let mut cause = error.source();
        while let Some(inner) = cause {
            message += &format!(": {inner}");
            cause = inner.source();
        }
        Self::plain(message)
    }

    /// A message that says itself what to do.
    pub(super) fn plain(message: String) -> Self {
        Self { message, hint: None, entries: Vec::new() }
    }

    pub(super) fn new(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { message: message.into(), hint: Some(hint.into()), entries: Vec::new() }
    }
}

/// A [`Trouble`] with the status it is answered with.
#[derive(Debug)]
pub(super) struct Refusal(pub(super) StatusCode, pub(super) Trouble);

impl Refusal {
    pub(super) fn bad(trouble: impl Into<Trouble>) -> Self {
        Self(StatusCode::UNPROCESSABLE_ENTITY, trouble.into())
    }

    pub(super) fn missing(message: impl Into<String>) -> Self {
        let hint = "look at the list of jobs";
        Self(StatusCode::NOT_FOUND, Trouble::new(message, hint))
    }

    pub(super) fn unexpected(error: &dyn std::error::Error) -> Self {
        Self(StatusCode::INTERNAL_SERVER_ERROR, Trouble::of(error))
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.0, Json(self.1)).into_response()
    }
}
