//! What the examples have in common: words in, JSON or an error out.

use std::process::ExitCode;

/// Runs the program on its words; prints what it returns.
pub(crate) fn ended(run: fn(&[String]) -> Result<String, String>) -> ExitCode {
    match run(&std::env::args().skip(1).collect::<Vec<_>>()) {
        #[allow(clippy::print_stdout, reason = "printing is what these programs are for")]
        Ok(json) => {
            println!("{json}");
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("error: {message}");
            ExitCode::FAILURE
        }
    }
}
