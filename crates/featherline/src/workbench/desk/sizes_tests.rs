//! Sizes while the job goes on being worked on: begun anew, stale, stopped.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;
use shoe::foot::Foot;
use shoe::job::Command;
use shoe::size::{Size, through};
use tempfile::TempDir;

use super::{Asked, Desk, Told};
use crate::commands::demo;

fn desk() -> (TempDir, Arc<Desk>) {
    let place = tempfile::tempdir().expect("a folder");
    let folder = place.path().join("demo");
    demo::make(Path::new(&folder)).expect("made");
    let desk = Desk::open("demo", &folder).expect("opened");
    (place, desk)
}

fn asked(from: &str, to: &str) -> Asked {
    let [from, to] = [from, to].map(|size| size.parse::<Size>().expect("a size"));
    let within = |size: &Size| (from.number()..=to.number()).contains(&size.number());
    let sizes: Vec<Size> = through(from, false).into_iter().filter(within).collect();
    Asked { sizes, halves: false, fittings: vec![None], feet: vec![Foot::Right] }
}

/// What a window is told of the sizes.
fn told(desk: &Desk) -> Value {
    let texts = desk.all().into_iter().filter_map(|told| match told {
        Told::Text(text) => serde_json::from_str::<Value>(&text).ok(),
        Told::Bytes(_) => None,
    });
    texts.into_iter().find(|told| told["tell"] == "sizes").expect("told of the sizes")
}

fn until(desk: &Desk, holds: impl Fn(&Value) -> bool) -> Value {
    for _ in 0..3000 {
        let told = told(desk);
        if holds(&told) {
            return told;
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    panic!("it never came to hold: {}", told(desk));
}

fn edit(desk: &Desk, key: &str, text: &str) {
    let command = Command::parse(key, text).expect("an edit");
    assert!(desk.edit(&[command]).expect("done"), "{key} changed");
}

#[test]
fn sizes_grow_stale_with_the_job_and_fresh_again_with_it() {
    let (_place, desk) = desk();
    assert!(desk.sizes().is_err(), "none yet");
    desk.ask_sizes(asked("EU 39", "EU 40")).expect("asked");
    let made = until(&desk, |told| told["made"].is_object() && told["doing"].is_null());
    assert_eq!(made["made"]["pieces"][1]["name"], "EU-40-right");
    assert_eq!(made["made"]["stale"], false);
    assert!(desk.sizes_to_write().is_ok());

    edit(&desk, "note", "stands on no piece");
    assert_eq!(told(&desk)["made"]["stale"], false);
    edit(&desk, "stiffener.settling", "4");
    assert_eq!(told(&desk)["made"]["stale"], true);
    let trouble = desk.sizes_to_write().err().expect("refused");
    assert!(trouble.message.contains("changed since"), "{}", trouble.message);
    assert!(desk.sizes().is_ok(), "they can still be looked at");
    desk.undo().expect("undone");
    assert_eq!(told(&desk)["made"]["stale"], false);
}

#[test]
fn an_edit_meanwhile_begins_the_sizes_anew() {
    let (_place, desk) = desk();
    desk.ask_sizes(asked("EU 38", "EU 41")).expect("asked");
    until(&desk, |told| told["doing"]["of"] == 4);
    edit(&desk, "stiffener.settling", "5");
    assert_eq!(told(&desk)["doing"]["of"], 0, "it waits for the job");
    until(&desk, |told| told["made"].is_object() && told["doing"].is_null());
    let made = desk.sizes_to_write().expect("of the newest job");
    let settling = made.pieces[0].drafted.stiffener.brief.settling;
    assert!((settling - 5.0).abs() < 1e-9, "{settling}");
}

#[test]
fn what_is_stopped_is_thrown_away() {
    let (_place, desk) = desk();
    desk.ask_sizes(asked("EU 36", "EU 42")).expect("asked");
    until(&desk, |told| told["doing"]["done"].as_u64() >= Some(1));
    desk.stop_sizes();
    let told = told(&desk);
    assert_eq!((&told["doing"], &told["stopped"]), (&Value::Null, &Value::Bool(true)));
    // And it can be asked for again, whatever still runs.
    desk.ask_sizes(asked("EU 39", "EU 39")).expect("asked");
    let made = until(&desk, |told| told["made"].is_object() && told["doing"].is_null());
    assert_eq!(made["made"]["pieces"].as_array().map(Vec::len), Some(1));
}

#[test]
fn what_cannot_be_made_is_named_with_its_mend_and_nothing_is_written() {
    let (_place, desk) = desk();
    desk.ask_sizes(asked("EU 34", "EU 35")).expect("asked");
    let made = until(&desk, |told| told["made"].is_object() && told["doing"].is_null());
    let trouble = &made["made"]["pieces"][0]["trouble"];
    assert!(trouble["message"].as_str().is_some_and(|m| m.contains("child")), "{trouble}");
    assert_eq!(trouble["entries"][0], "wearer.ankle_medial");
    assert_eq!(made["made"]["pieces"][1]["trouble"], Value::Null);
    let refused = desk.sizes_to_write().err().expect("refused");
    assert!(refused.message.starts_with("1 of the pieces"), "{}", refused.message);
}

#[test]
fn a_run_of_another_system_or_without_a_fitting_to_grade_from_is_refused() {
    let (_place, desk) = desk();
    let trouble = desk.ask_sizes(asked("UK 5", "UK 6")).expect_err("refused");
    assert_eq!(trouble.entries, ["last.size"]);
    let mut fitted = asked("EU 39", "EU 39");
    let system = fitted.sizes[0].system();
    fitted.fittings = vec![shoe::size::fitting::Fitting::read(system, "7").ok()];
    let trouble = desk.ask_sizes(fitted.clone()).expect_err("refused");
    assert_eq!(trouble.entries, ["last.fitting"]);
    edit(&desk, "last.fitting", "6");
    desk.ask_sizes(fitted).expect("asked");
    let made = until(&desk, |told| told["made"].is_object() && told["doing"].is_null());
    assert_eq!(made["made"]["pieces"][0]["name"], "EU-39-fitting-7-right");
}
