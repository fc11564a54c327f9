//! Featherline: from a last to flat patterns that cut, wrap and last without fuss.

mod commands;
mod every_size;
mod memory;
mod one_file;
mod output;
mod papers;
mod progress;
#[cfg(feature = "workbench")]
mod workbench;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// From a last to flat patterns that cut, wrap and last without fuss.
#[derive(Parser)]
#[command(name = "featherline", version)]
#[command(after_help = "Ends with 0 when all is well, 1 after an error or a failed check, 2 when \
    called wrongly. With --json standard output holds JSON and nothing else, errors included.")]
struct Cli {
    #[command(flatten)]
    bench: Bench,
    #[command(subcommand)]
    command: Option<Command>,
}

/// Without a command the workbench is opened on the job opened last.
#[cfg(feature = "workbench")]
#[derive(clap::Args)]
struct Bench {
    /// The folder in which the jobs lie; `Featherline` in your own folder if not given
    #[arg(long, value_name = "DIR")]
    workshop: Option<std::path::PathBuf>,
    #[command(flatten)]
    serve: workbench::serve::Serve,
}

#[cfg(not(feature = "workbench"))]
#[derive(clap::Args)]
struct Bench {}

#[cfg(feature = "workbench")]
impl Bench {
    fn run(self) -> anyhow::Result<ExitCode> {
        let workshop = self.workshop.unwrap_or_else(workbench::serve::usual_workshop);
        self.serve.run(&workshop, None)
    }
}

#[cfg(not(feature = "workbench"))]
impl Bench {
    fn run(self) -> anyhow::Result<ExitCode> {
        anyhow::bail!(
            "this program was built without the workbench; `featherline help` lists what it can do"
        )
    }
}

/// What can be asked for: one line, one file in `commands/`.
#[derive(Subcommand)]
enum Command {
    #[cfg(feature = "workbench")]
    Open(commands::open::Open),
    Demo(commands::demo::Demo),
    New(commands::new::New),
    Draft(commands::draft::Draft),
    Check(commands::check::Check),
    Measure(commands::measure::Measure),
    Set(commands::set::Set),
    Undo(commands::undo::Undo),
    Redo(commands::undo::Redo),
    Flatten(commands::flatten::Flatten),
    Sizes(commands::sizes::Sizes),
    Last(commands::last::Last),
    Pair(commands::pair::PairOf),
}

impl Command {
    fn run(self) -> anyhow::Result<ExitCode> {
        match self {
            #[cfg(feature = "workbench")]
            Command::Open(command) => command.run(),
            Command::Demo(command) => command.run(),
            Command::New(command) => command.run(),
            Command::Draft(command) => command.run(),
            Command::Check(command) => command.run(),
            Command::Measure(command) => command.run(),
            Command::Set(command) => command.run(),
            Command::Undo(command) => command.run(),
            Command::Redo(command) => command.run(),
            Command::Flatten(command) => command.run(),
            Command::Sizes(command) => command.run(),
            Command::Last(command) => command.run(),
            Command::Pair(command) => command.run(),
        }
    }
}

fn main() -> ExitCode {
    // Read here as well, because a call that cannot be parsed owes its reader JSON too.
    let json = std::env::args_os().any(|argument| argument == "--json");
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            if json && error.use_stderr() {
                output::error_as_json(&output::without_usage(&error.to_string()));
            }
            error.exit()
        }
    };
    let outcome = match cli.command {
        None => cli.bench.run(),
        Some(command) => command.run(),
    };
    match outcome {
        Ok(code) => code,
        Err(error) => {
            let message = format!("{error:#}");
            if json {
                output::error_as_json(&message);
            }
            eprintln!("error: {message}");
            ExitCode::FAILURE
        }
    }
}
