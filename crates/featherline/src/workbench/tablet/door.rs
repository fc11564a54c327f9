//! The door to the local network: lets devices through that entered the code, and asks the others
//! for it.

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::extract::{ConnectInfo, State};
use axum::http::header::{CONNECTION, LOCATION};
use axum::http::{HeaderValue, Method, Request, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use tokio::sync::watch;

use super::super::guard::{Guard, confined, from_own_page};
use super::super::trouble::{Refusal, Trouble};
use super::Pairing;
use super::network::{Caller, switched_off};
use super::pair_page::PairPage;

/// The longest form that is read: a code is short, more is none.
const LONGEST_FORM: usize = 256;

/// The door of one time that the tablet is on.
#[derive(Clone)]
pub(super) struct Door {
    pub(super) pairing: Arc<Pairing>,
    pub(super) guard: Guard,
    pub(super) off: watch::Receiver<()>,
}

/// Watches the door. What is under way when the tablet is switched off is left.
pub(super) async fn watch(
    State(door): State<Door>,
    ConnectInfo(caller): ConnectInfo<Caller>,
    request: Request<Body>,
    next: Next,
) -> Response {
    let off = switched_off(door.off.clone());
    let response = tokio::select! {
        biased;
        () = off => last(refused("the tablet was switched off at the bench")),
        response = door.answer(&caller, request, next) => response,
    };
    confined(response)
}

impl Door {
    async fn answer(&self, caller: &Caller, request: Request<Body>, next: Next) -> Response {
        if let Err(Refusal(status, trouble)) = from_own_page(&self.guard, caller.reached, &request)
        {
            let hint = "open the address that the screen at the bench shows, by its numbers";
            return last(Refusal(status, Trouble { hint: Some(hint.into()), ..trouble }));
        }
        let here = request.uri().path();
        let (at_pair, at_first) = (here == "/pair", here == "/");
        let entering = at_pair && request.method() == Method::POST;
        if self.guard.holds_key(request.headers()) {
            caller.is_paired();
            // Its browser went back to the form, or loads anew what it was shown after it.
            return if at_pair { to_first() } else { next.run(request).await };
        }
        let page = PairPage::for_reader_of(request.headers());
        if entering {
            let form = to_bytes(request.into_body(), LONGEST_FORM).await.unwrap_or_default();
            return match self.pairing.enter(&String::from_utf8_lossy(&form)) {
                Ok(()) => {
                    caller.is_paired();
                    self.guard.let_in()
                }
                Err(why) => last(page.answer(StatusCode::FORBIDDEN, Some(why))),
            };
        }
        if at_first {
            return last(page.answer(StatusCode::OK, None));
        }
        last(if at_pair { to_first() } else { refused("this device is not paired") })
    }
}

fn refused(message: &str) -> Response {
    let hint = "open the first page and enter the code shown at the bench";
    Refusal(StatusCode::UNAUTHORIZED, Trouble::new(message, hint)).into_response()
}

fn to_first() -> Response {
    (StatusCode::SEE_OTHER, [(LOCATION, "/")]).into_response()
}

/// The last answer on its line: a device that is not paired has no line to keep.
fn last(answer: impl IntoResponse) -> Response {
    let mut response = answer.into_response();
    response.headers_mut().insert(CONNECTION, HeaderValue::from_static("close"));
    response
}
