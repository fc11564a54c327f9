//! What was edited, so that it can be undone and done again: `history.jsonl` beside the job.
//!
//! The first line says how many of the entries are done; each further line is one entry. An
//! entry keeps the bytes of `job.toml` that it took away and those it put in their place, so
//! undoing returns the file byte for byte; and it keeps the old value, for when the file was
//! edited by hand in between. The history is never needed to open a job.

use serde::{Deserialize, Serialize};

use super::command::Command;

/// The layout of the file.
const SCHEMA: u32 = 1;

/// Older entries are forgotten, so that the file stays small.
const LONGEST: usize = 500;

/// The edits in order, and how many of them are done; the others were undone.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct History {
    entries: Vec<Entry>,
    done: usize,
}

/// One edit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Entry {
    /// What was set.
    pub(super) command: Command,
    /// What was there before; absent where nothing that could be set was.
    pub(super) was: Option<Command>,
    /// Whether it belongs to the entry before it, and is undone together with that.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    joined: bool,
    splice: Splice,
    before: Print,
    after: Print,
}

/// A change of a text: at a byte offset, some bytes gave way to others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Splice {
    at: usize,
    removed: String,
    added: String,
}

/// Identifies a text: its length and its FNV-1a hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
struct Print(usize, u64);

#[derive(Serialize, Deserialize)]
struct Header {
    schema: u32,
    done: usize,
}

impl Print {
    fn of(text: &str) -> Print {
        let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        Print(text.len(), hash)
    }
}

impl Splice {
    fn between(before: &str, after: &str) -> Splice {
        let start = before
            .char_indices()
            .zip(after.chars())
            .find(|((_, a), b)| a != b)
            .map_or(before.len().min(after.len()), |((at, _), _)| at);
        let same: usize = before[start..]
            .chars()
            .rev()
            .zip(after[start..].chars().rev())
            .take_while(|(a, b)| a == b)
            .map(|(a, _)| a.len_utf8())
            .sum();
        Splice {
            at: start,
            removed: before[start..before.len() - same].to_owned(),
            added: after[start..after.len() - same].to_owned(),
        }
    }

    /// Puts `new` where `old` stands; `None` when it does not stand there.
    fn swap(&self, text: &str, old: &str, new: &str) -> Option<String> {
        let rest = text.get(self.at..)?.strip_prefix(old)?;
        Some([&text[..self.at], new, rest].concat())
    }
}

impl Entry {
    pub(super) fn new(command: Command, was: Option<Command>, before: &str, after: &str) -> Entry {
        Entry {
            command,
            was,
            joined: false,
            splice: Splice::between(before, after),
            before: Print::of(before),
            after: Print::of(after),
        }
    }

    /// Whether it is undone together with the one before it.
    pub(super) fn is_joined(&self) -> bool {
        self.joined
    }

    /// The exact text before the edit, if `text` is exactly the one after it.
    pub(super) fn undone(&self, text: &str) -> Option<String> {
        (Print::of(text) == self.after)
            .then(|| self.splice.swap(text, &self.splice.added, &self.splice.removed))
            .flatten()
            .filter(|t| Print::of(t) == self.before)
    }

    /// The exact text after the edit, if `text` is exactly the one before it.
    pub(super) fn redone(&self, text: &str) -> Option<String> {
        (Print::of(text) == self.before)
            .then(|| self.splice.swap(text, &self.splice.removed, &self.splice.added))
            .flatten()
            .filter(|t| Print::of(t) == self.after)
    }
}

impl History {
    /// Reads a history; `None` when it is damaged or of another version.
    pub(super) fn read(text: &str) -> Option<History> {
        let mut lines = text.lines();
        let header: Header = serde_json::from_str(lines.next()?).ok()?;
        let entries: Vec<Entry> =
            lines.map(|l| serde_json::from_str(l).ok()).collect::<Option<_>>()?;
        (header.schema == SCHEMA && header.done <= entries.len())
            .then_some(History { entries, done: header.done })
    }

    /// The history as text.
    pub(super) fn write(&self) -> String {
        let header = serde_json::to_string(&Header { schema: SCHEMA, done: self.done });
        let entries = self.entries.iter().map(serde_json::to_string);
        std::iter::once(header)
            .chain(entries)
            .map(|line| line.expect("plain strings and finite numbers have a JSON form") + "\n")
            .collect()
    }

    /// Steps to where `text` stands in the history. The history is written before the job, so
    /// a crash in between leaves it a step ahead.
    pub(super) fn settle(&mut self, text: &str) {
        let print = Print::of(text);
        let state = |k: usize| match k.checked_sub(1) {
            Some(last) => self.entries.get(last).map(|e| e.after),
            None => self.entries.first().map(|e| e.before),
        };
        let nearest = (0..=self.entries.len())
            .filter(|k| state(*k) == Some(print))
            .min_by_key(|k| k.abs_diff(self.done));
        self.done = nearest.unwrap_or(self.done);
    }

    pub(super) fn push(&mut self, entry: Entry) {
        self.entries.truncate(self.done);
        self.entries.push(entry);
        let surplus = self.entries.len().saturating_sub(LONGEST);
        self.entries.drain(..surplus);
        self.done = self.entries.len();
    }

    /// Makes the last entry a part of the edit before it.
    pub(super) fn join_last(&mut self) {
        if let Some(last) = self.entries.last_mut() {
            last.joined = true;
        }
    }

    /// The entry that an undo would take back.
    pub(super) fn last_done(&self) -> Option<&Entry> {
        self.entries[..self.done].last()
    }

    /// The entry that a redo would bring back.
    pub(super) fn first_undone(&self) -> Option<&Entry> {
        self.entries.get(self.done)
    }

    /// What an undo would take back: the first of the edits that belong together.
    pub(super) fn undone_next(&self) -> Option<&Entry> {
        let done = &self.entries[..self.done];
        done.iter().rev().find(|entry| !entry.joined).or(done.first())
    }

    pub(super) fn step_back(&mut self) {
        self.done = self.done.saturating_sub(1);
    }

    pub(super) fn step_forward(&mut self) {
        self.done = (self.done + 1).min(self.entries.len());
    }
}
