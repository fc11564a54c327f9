//! Builds the workbench's page with Node and names its folder, to be embedded.
//!
//! A folder that was built before may be named by `FEATHERLINE_PAGE_BUILT`; then no Node is needed.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs, io};

/// What lies in `web/` without being a source of the page.
const NO_SOURCES: [&str; 4] = ["node_modules", "dist", "test", "README.md"];

fn main() {
    println!("cargo:rerun-if-env-changed=FEATHERLINE_PAGE_BUILT");
    if env::var_os("CARGO_FEATURE_WORKBENCH").is_none() {
        return;
    }
    let page = match env::var_os("FEATHERLINE_PAGE_BUILT") {
        Some(built) => PathBuf::from(built),
        None => build(),
    };
    if !page.join("index.html").is_file() {
        fail(&format!("{}: holds no index.html, so it is no built page", page.display()));
    }
    println!("cargo:rustc-env=FEATHERLINE_PAGE={}", page.display());
}

/// Builds the page in a copy of its sources, so that nothing is left among them.
fn build() -> PathBuf {
    let web = Path::new(&variable("CARGO_MANIFEST_DIR")).join("../../web");
    let copy = Path::new(&variable("OUT_DIR")).join("web");
    let page = Path::new(&variable("OUT_DIR")).join("page");
    // A file that was taken away must not live on in the copy; what npm fetched may.
    let _ = fs::remove_dir_all(copy.join("src"));
    let entries = fs::read_dir(&web)
        .unwrap_or_else(|cause| fail(&format!("{}: cannot be read ({cause})", web.display())));
    for name in entries.flatten().map(|entry| entry.file_name()) {
        if NO_SOURCES.iter().any(|other| name == *other) {
            continue;
        }
        let source = web.join(&name);
        println!("cargo:rerun-if-changed={}", source.display());
        if let Err(cause) = copy_all(&source, &copy.join(&name)) {
            fail(&format!("{}: cannot be copied ({cause})", source.display()));
        }
    }
    run(Command::new(npm()).args(["ci", "--no-audit", "--no-fund"]).current_dir(&copy));
    run(Command::new(npm())
        .args(["run", "build", "--", "--emptyOutDir", "--outDir"])
        .arg(&page)
        .current_dir(&copy));
    page
}

fn npm() -> &'static str {
    if cfg!(windows) { "npm.cmd" } else { "npm" }
}

fn run(command: &mut Command) {
    match command.output() {
        Ok(output) if output.status.success() => {}
        Ok(output) => {
            let said = [output.stdout, output.stderr].concat();
            fail(&format!(
                "building the workbench's page failed:\n{}",
                String::from_utf8_lossy(&said)
            ));
        }
        Err(cause) => fail(&format!(
            "the workbench's page is built with Node, and npm could not be run ({cause}). Install Node \
             20.19 or newer, or build the command line alone with `cargo build --release \
             --no-default-features`, or name a built page in FEATHERLINE_PAGE_BUILT"
        )),
    }
}

fn copy_all(from: &Path, to: &Path) -> io::Result<()> {
    if from.is_dir() {
        fs::create_dir_all(to)?;
        for entry in fs::read_dir(from)? {
            let entry = entry?;
            copy_all(&entry.path(), &to.join(entry.file_name()))?;
        }
        return Ok(());
    }
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::copy(from, to).map(drop)
}

fn variable(name: &str) -> String {
    env::var(name).unwrap_or_else(|_| fail(&format!("cargo sets {name}")))
}

fn fail(message: &str) -> ! {
    eprintln!("error: {message}");
    std::process::exit(1);
}
