//! Featherline: from a last to flat patterns that cut, wrap and last without fuss.

mod commands;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// From a last to flat patterns that cut, wrap and last without fuss.
#[derive(Parser)]
#[command(name = "featherline", version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

/// What can be asked for: one line, one file in `commands/`.
#[derive(Subcommand)]
enum Command {
    Flatten(commands::flatten::Flatten),
}

fn main() -> ExitCode {
    let outcome = match Cli::parse().command {
        Command::Flatten(command) => command.run(),
    };
    match outcome {
        Ok(code) => code,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}
