//! `featherline flatten`: lays one disk-shaped surface flat.

use std::path::PathBuf;
use std::process::ExitCode;

/// Flatten one disk-shaped surface with the least strain
#[derive(clap::Args)]
pub(crate) struct Flatten {
    /// The surface to flatten: STL, OBJ or PLY
    mesh: PathBuf,
    /// Where the flat mesh goes
    #[arg(long)]
    out: PathBuf,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Flatten {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let read = geometry::read::read_mesh(&self.mesh)?;
        anyhow::bail!(
            "{}: {} triangles, not flattened yet ({})",
            self.mesh.display(),
            read.value.triangles.len(),
            self.json || self.out.exists()
        );
    }
}
