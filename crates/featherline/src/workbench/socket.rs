//! The line between a window and the job it looks at.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Bytes;
use axum::extract::ws::{Message, Utf8Bytes, WebSocket, WebSocketUpgrade};
use axum::extract::{Path, State};
use axum::response::Response;
use geometry::units::Mm;
use glam::DVec3;
use serde::Deserialize;
use serde_json::{Value, json};
use shoe::job::Command;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};

use super::Workbench;
use super::desk::{Aim, Desk, Drags, EditRefused, Shown, Sight, Told};
use super::trouble::{Refusal, Trouble};

/// The longest message of a window, bytes: a feather line of some thousand points.
const LONGEST: usize = 1 << 20;

/// How often a job is looked at for changes from outside.
const LOOK: Duration = Duration::from_secs(1);

/// How often a window is pinged, so that its line is never silent.
const PING: Duration = Duration::from_secs(30);

/// What a window says.
#[derive(Debug, Deserialize)]
#[serde(tag = "say", rename_all = "snake_case")]
enum Said {
    Edit { id: u64, commands: Vec<Command> },
    Typed { id: u64, key: String, text: String, keep: bool },
    Lengths { id: u64, texts: Vec<String> },
    Undo { id: u64 },
    Redo { id: u64 },
    Drag(Drag),
    Drop { id: u64, drag: u64 },
    Leave { drag: u64 },
}

#[derive(Debug, Deserialize)]
struct Drag {
    drag: u64,
    mark: Option<String>,
    ray: Option<Ray>,
    to: Option<[f64; 3]>,
    entry: Option<String>,
    value: Option<f64>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
struct Ray {
    from: [f64; 3],
    along: [f64; 3],
}

/// Opens the line.
pub(super) async fn look(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
    upgrade: WebSocketUpgrade,
) -> Result<Response, Refusal> {
    let desk = bench.desk(&job)?;
    bench.workshop.remember(&job);
    Ok(upgrade.max_message_size(LONGEST).on_upgrade(move |socket| talk(socket, desk)))
}

/// Talks until the window is closed.
async fn talk(mut socket: WebSocket, desk: Arc<Desk>) {
    let mut news = desk.listen();
    let (answer, mut answers) = unbounded_channel();
    let mut drags = Drags::default();
    let mut clock = tokio::time::interval(LOOK);
    let mut pulse = tokio::time::interval(PING);
    let mut out = desk.all();
    loop {
        for told in out.drain(..) {
            if socket.send(message(told)).await.is_err() {
                return;
            }
        }
        tokio::select! {
            said = socket.recv() => match said {
                Some(Ok(Message::Text(text))) => {
                    out = tokio::task::block_in_place(|| hear(&desk, &mut drags, &text, &answer));
                }
                Some(Ok(Message::Close(_)) | Err(_)) | None => return,
                Some(Ok(_)) => {}
            },
            told = news.recv() => match told {
                Ok(told) => out.push(told),
                // This window is too slow for every message: it is told everything once.
                Err(RecvError::Lagged(_)) => out = desk.all(),
                Err(RecvError::Closed) => return,
            },
            Some(shown) = answers.recv() => out.push(match shown {
                Shown::Piece(bytes) => Told::Bytes(bytes.into()),
                Shown::Not { drag, trouble } => Told::json(&json!({
                    "tell": "dragged", "drag": drag, "at": null, "value": null, "trouble": trouble,
                })),
            }),
            _ = pulse.tick() => {
                if socket.send(Message::Ping(Bytes::new())).await.is_err() {
                    return;
                }
            }
            _ = clock.tick() => tokio::task::block_in_place(|| desk.look_for_changes()),
        }
    }
}

fn message(told: Told) -> Message {
    match told {
        Told::Text(text) => Message::Text(Utf8Bytes::from(text.as_ref())),
        Told::Bytes(bytes) => Message::Binary(Bytes::from_owner(bytes)),
    }
}

/// Does what a window says, and returns what it is answered.
fn hear(desk: &Desk, drags: &mut Drags, text: &str, answer: &UnboundedSender<Shown>) -> Vec<Told> {
    let said: Said = match serde_json::from_str(text) {
        Ok(said) => said,
        Err(error) => {
            let id = serde_json::from_str::<Value>(text).ok().and_then(|v| v["id"].as_u64());
            let trouble = Trouble::new(
                format!("the program does not understand the page: {error}"),
                "load the page again",
            );
            return vec![refused(id.unwrap_or(0), &trouble)];
        }
    };
    match said {
        Said::Edit { id, commands } => {
            vec![done(id, desk.edit(&commands).map_err(Trouble::from), None)]
        }
        Said::Undo { id } => vec![done(id, desk.undo().map_err(Trouble::from), None)],
        Said::Redo { id } => vec![done(id, desk.redo().map_err(Trouble::from), None)],
        Said::Typed { id, key, text, keep } => match desk.understand(&key, &text) {
            Ok(command) if keep => {
                let words = in_words(&command);
                vec![done(id, desk.edit(&[command]).map_err(Trouble::from), Some(words))]
            }
            Ok(command) => vec![Told::json(&json!({
                "tell": "understood", "id": id, "value": command.value(), "words": in_words(&command),
            }))],
            Err(trouble) => vec![refused(id, &trouble)],
        },
        Said::Lengths { id, texts } => {
            let read: Result<Vec<f64>, _> =
                texts.iter().map(|text| Mm::typed(text).map(Mm::get)).collect();
            vec![match read {
                Ok(lengths) => Told::json(&json!({
                    "tell": "understood", "id": id, "value": lengths, "words": null,
                })),
                Err(error) => refused(id, &Trouble::of(&error)),
            }]
        }
        Said::Drag(drag) => vec![dragged(desk, drags, &drag, answer)],
        Said::Drop { id, drag } => {
            let outcome = match drags.take(drag) {
                Some(aim) => desk.let_go(&aim),
                None => Err(EditRefused::NothingDragged),
            };
            vec![done(id, outcome.map_err(Trouble::from), None)]
        }
        Said::Leave { drag } => {
            drags.leave(drag);
            // The piece goes back to where it was.
            desk.all()
        }
    }
}

fn dragged(desk: &Desk, drags: &mut Drags, said: &Drag, answer: &UnboundedSender<Shown>) -> Told {
    let aim = match (said, said.ray, said.to) {
        (Drag { mark: Some(key), .. }, Some(ray), _) => {
            let sight = Sight::Ray(DVec3::from_array(ray.from), DVec3::from_array(ray.along));
            desk.aim(key, sight)
        }
        (Drag { mark: Some(key), .. }, None, Some(to)) => {
            desk.aim(key, Sight::Near(DVec3::from_array(to)))
        }
        (Drag { entry: Some(key), value: Some(value), .. }, ..) => {
            desk.aim_number(key, *value).map(Some)
        }
        _ => Err(Trouble::new("nothing was said to be dragged", "load the page again")),
    };
    let (mut at, mut value, mut trouble) = (None, None, None);
    match aim {
        // The ray passes the last by: what is held stays where it was.
        Ok(None) => {}
        Ok(Some(aim)) => {
            match &aim {
                Aim::Mark { at: place, .. } => at = Some(place.to_array()),
                Aim::Entry { value: number, .. } => value = Some(*number),
            }
            desk.follow(said.drag, &aim, answer);
            drags.hold(said.drag, aim);
        }
        Err(why) => trouble = Some(why),
    }
    Told::json(&json!({
        "tell": "dragged", "drag": said.drag, "at": at, "value": value, "trouble": trouble,
    }))
}

/// A value as it was understood.
fn in_words(command: &Command) -> String {
    match command.value() {
        Value::Null => "as found, or by the rule".into(),
        Value::Number(number) if command.key() == "stiffener.wall_cuts" => number.to_string(),
        Value::Number(number) => format!("{number} mm"),
        Value::String(text) => text,
        other => other.to_string(),
    }
}

fn done<T>(id: u64, outcome: Result<T, Trouble>, words: Option<String>) -> Told {
    match outcome {
        Ok(_) => Told::json(&json!({ "tell": "done", "id": id, "words": words })),
        Err(trouble) => refused(id, &trouble),
    }
}

fn refused(id: u64, trouble: &Trouble) -> Told {
    Told::json(&json!({ "tell": "refused", "id": id, "trouble": trouble }))
}
