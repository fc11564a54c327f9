//! `featherline sizes`: what a size stands for, and what it is called elsewhere.

use std::process::ExitCode;

use serde_json::{Value, json};
use shoe::foot::Side;
use shoe::reasons::Mark;
use shoe::size::fitting::{Family, Fitting, ball_girth_of_last, ball_girths_of_foot, girth_rule};
use shoe::size::{Converted, Counts, Size, in_every_system, in_run};
use shoe::survey::{AnkleSurvey, Sex};

use crate::output;

/// Tell a size in every system, with the lengths of its last and its foot
#[derive(clap::Args)]
pub(crate) struct Sizes {
    /// A size such as "EU 39", "US men 8" or "JP 24.5", or a run such as "EU 36..46"
    size: String,
    /// The fitting (width), in the letters or numbers of the size's system
    #[arg(long)]
    fitting: Option<String>,
    /// Go through a run in half sizes
    #[arg(long)]
    halves: bool,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Sizes {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let sizes = in_run(&self.size, self.halves)?;
        let system = sizes[0].system();
        let fitting =
            self.fitting.as_deref().map(|text| Fitting::read(system, text)).transpose()?;
        match (sizes.as_slice(), self.json) {
            ([size], true) => output::say_json(&as_json(*size, fitting))?,
            (sizes, true) => {
                let all: Vec<Value> = sizes.iter().map(|size| as_json(*size, fitting)).collect();
                output::say_json(&json!({ "sizes": all }))?;
            }
            ([size], false) => say_one(*size, fitting),
            (sizes, false) => say_run(sizes, fitting),
        }
        Ok(ExitCode::SUCCESS)
    }
}

fn as_json(size: Size, fitting: Option<Fitting>) -> Value {
    let system = size.system();
    let systems: Vec<Value> = in_every_system(size)
        .iter()
        .map(|there| {
            json!({
                "system": there.size.system().short(),
                "name": there.size.system().name(),
                "size": there.size.number(),
                "approximate": there.approximate,
                "written": there.size,
                "unrounded": hundredth(there.number),
            })
        })
        .collect();
    let rule = girth_rule(system);
    json!({
        "size": size,
        "last_length": size.standard_last_length().get(),
        "foot_length": size.foot_length().get(),
        "counts": match system.counts() { Counts::Last => "last", Counts::Foot => "foot" },
        "allowance": { "value": system.allowance(), "mark": system.allowance_mark() },
        "formula": system.formula(),
        "source": system.source(),
        "child": size.is_child(),
        "systems": systems,
        "girth": { "rule": rule.formula, "source": rule.source, "mark": rule.mark },
        "fittings": Family::of(system).map(|family| json!({
            "names": family.names(),
            "step": family.girth_step(),
            "source": family.source().0,
            "mark": family.source().1,
        })),
        "ankles": surveys(size).map(|survey| json!({
            "side": survey.side,
            "sex": survey.sex,
            "mean": hundredth(survey.mean(size.foot_length().get())),
            "lower_in_5_of_100": hundredth(survey.height_of(0.05, size.foot_length().get())),
            "people": survey.people,
            "source": survey.source,
        })).collect::<Vec<_>>(),
        "fitting": fitting.map(|fitting| json!({
            "name": fitting.to_string(),
            "ball_girth_of_last": ball_girth_of_last(size, fitting),
            "ball_girth_of_foot": ball_girths_of_foot(size, fitting)
                .map(|[men, women]| json!({ "men": hundredth(men), "women": hundredth(women) })),
        })),
    })
}

/// The surveys that measured feet as long as those of an adult's size.
fn surveys(size: Size) -> impl Iterator<Item = &'static AnkleSurvey> {
    let all = Side::BOTH.into_iter().rev().flat_map(|side| {
        [Sex::Women, Sex::Men].into_iter().filter_map(move |sex| AnkleSurvey::of(sex, side))
    });
    let foot = size.foot_length().get();
    all.filter(move |survey| !size.is_child() && survey.covers(foot))
}

/// How high the ankle points of such feet lie, and what nobody measured.
fn say_ankles(size: Size) {
    let foot = size.foot_length().get();
    for survey in surveys(size) {
        let who = if survey.sex == Sex::Women { "women" } else { "men" };
        output::say(&format!(
            "{} ankle point above the floor, {who}: {:.0} mm in the middle, 5 of 100 below {:.0} mm \
             ({}, {} people)",
            survey.side,
            survey.mean(foot),
            survey.height_of(0.05, foot),
            survey.source,
            survey.people,
        ));
    }
    if size.is_child() {
        output::say("a child's size: no rule and no survey here covers children's ankles");
    } else {
        output::say(
            "the bone's lower border lies lower than its point, by how much no survey here measured; \
             none has the inside ankle of women",
        );
    }
}

fn hundredth(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

fn say_one(size: Size, fitting: Option<Fitting>) {
    let system = size.system();
    let (last, foot) = (size.standard_last_length().get(), size.foot_length().get());
    output::say(&format!("{size}: last {last:.1} mm, foot {foot:.1} mm"));
    output::say(&format!(
        "  {}; the last is taken to be {:.1} mm longer than the foot ({})",
        system.formula(),
        system.allowance(),
        system.allowance_mark().words()
    ));
    output::say("the same foot elsewhere:");
    for Converted { size: there, number, approximate } in in_every_system(size) {
        if there.system() == system {
            continue;
        }
        let name = there.system().name();
        let told =
            if approximate { format!("about {there} ({number:.2})") } else { there.to_string() };
        output::say(&format!("  {name:<42}{told}"));
    }
    let rule = girth_rule(system);
    output::say(&format!("ball girth: {} ({})", rule.formula, words(rule.mark, rule.source)));
    if let Some(family) = Family::of(system) {
        let names = family.names().join(", ");
        let (source, mark) = family.source();
        let (step, known) = (family.girth_step(), words(mark, source));
        output::say(&format!("fittings: {names}; {step:.2} mm of ball girth each ({known})"));
    }
    if let Some(fitting) = fitting {
        say_fitting(size, fitting);
    }
    say_ankles(size);
}

/// How well a fact is known, with its source unless that says the same.
fn words(mark: Mark, source: &str) -> String {
    if mark == Mark::CommonPractice {
        source.to_owned()
    } else {
        format!("{}: {source}", mark.words())
    }
}

fn say_fitting(size: Size, fitting: Fitting) {
    if let Some(girth) = ball_girth_of_last(size, fitting) {
        output::say(&format!(
            "fitting {fitting}: ball girth of the last {girth:.1} mm, by 5 x (size + fitting) \
             ({})",
            Mark::FromMemory.words()
        ));
    } else if let Some([men, women]) = ball_girths_of_foot(size, fitting) {
        output::say(&format!(
            "fitting {fitting}: ball girth of the foot {men:.0} mm for men, {women:.0} mm for \
             women (JIS S 5037)"
        ));
    } else {
        output::say(&format!(
            "fitting {fitting}: no source was found for the girth itself, only for its steps"
        ));
    }
}

fn say_run(sizes: &[Size], fitting: Option<Fitting>) {
    output::say(&format!("{:<16}{:>9}{:>9}", "size", "last", "foot"));
    for size in sizes {
        let (last, foot) = (size.standard_last_length().get(), size.foot_length().get());
        let girth = fitting.and_then(|fitting| ball_girth_of_last(*size, fitting));
        let girth = girth.map(|g| format!("   ball girth {g:.1}")).unwrap_or_default();
        output::say(&format!("{:<16}{last:>9.1}{foot:>9.1}{girth}", size.to_string()));
    }
    output::say("in mm; `featherline sizes` with one size tells it in every system");
}
