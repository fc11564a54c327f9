//! Featherline: from a last to flat patterns that cut, wrap and last without fuss.

mod commands;
mod memory;
mod one_file;
mod output;
mod papers;
mod progress;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// From a last to flat patterns that cut, wrap and last without fuss.
#[derive(Parser)]
#[command(name = "featherline", version)]
#[command(after_help = "Ends with 0 when all is well, 1 after an error or a failed check, 2 when \
    called wrongly. With --json standard output holds JSON and nothing else, errors included.")]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

/// What can be asked for: one line, one file in `commands/`.
#[derive(Subcommand)]
enum Command {
    Demo(commands::demo::Demo),
    New(commands::new::New),
    Draft(commands::draft::Draft),
    Check(commands::check::Check),
    Measure(commands::measure::Measure),
    Set(commands::set::Set),
    Undo(commands::undo::Undo),
    Redo(commands::undo::Redo),
    Flatten(commands::flatten::Flatten),
}

fn main() -> ExitCode {
    // Read here as well, because a call that cannot be parsed owes its reader JSON too.
    let json = std::env::args_os().any(|argument| argument == "--json");
    let command = match Cli::try_parse() {
        Ok(cli) => cli.command,
        Err(error) => {
            if json && error.use_stderr() {
                output::error_as_json(&output::without_usage(&error.to_string()));
            }
            error.exit()
        }
    };
    let outcome = match command {
        Command::Demo(command) => command.run(),
        Command::New(command) => command.run(),
        Command::Draft(command) => command.run(),
        Command::Check(command) => command.run(),
        Command::Measure(command) => command.run(),
        Command::Set(command) => command.run(),
        Command::Undo(command) => command.run(),
        Command::Redo(command) => command.run(),
        Command::Flatten(command) => command.run(),
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
