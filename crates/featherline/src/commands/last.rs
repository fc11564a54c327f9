//! `featherline last`: a last from tape measures.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context as _;
use geometry::mesh::write::write_stl_binary;
use serde_json::json;
use shoe::last::taped::{BLANK, Met, TapeMeasures, Taped, UNKNOWN, read_sheet, taped_last};
use shoe::size::Size;

use crate::progress::Progress;
use crate::{one_file, output};

/// A sheet is a page; what is longer is another file.
const LONGEST: u64 = 100_000;

/// Make a last from a sheet of tape measures, where there is no scanner
#[derive(clap::Args)]
pub(crate) struct Last {
    /// The sheet of measures, such as tape.toml
    sheet: PathBuf,
    /// Where the last goes, as STL in mm
    #[arg(long, value_name = "LAST.stl", required_unless_present = "blank")]
    out: Option<PathBuf>,
    /// Write a sheet to fill in, and nothing else
    #[arg(long, conflicts_with = "out")]
    blank: bool,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Last {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        match &self.out {
            Some(out) => self.make(out)?,
            None => self.write_blank()?,
        }
        Ok(ExitCode::SUCCESS)
    }

    fn write_blank(&self) -> anyhow::Result<()> {
        let sheet = self.sheet.display();
        if self.sheet.exists() {
            anyhow::bail!(
                "{sheet}: is there already; choose another name, so that nothing is lost"
            );
        }
        one_file::write(&self.sheet, BLANK.as_bytes(), "another name")?;
        if self.json {
            return output::say_json(&json!({ "sheet": self.sheet }));
        }
        output::say(&format!("{sheet}: write your measures into it"));
        output::say(&format!("next: featherline last {sheet} --out last.stl"));
        Ok(())
    }

    fn make(&self, out: &Path) -> anyhow::Result<()> {
        let sheet = self.sheet.display();
        one_file::refuse_place(&self.sheet, out, "--out")?;
        let is_stl = out.extension().is_some_and(|end| end.eq_ignore_ascii_case("stl"));
        if !is_stl {
            anyhow::bail!("{}: a last is written as STL; let the name end in .stl", out.display());
        }
        let (measures, size) = read_sheet(&self.text()?).with_context(|| sheet.to_string())?;
        let building = Progress::start("building a last to the measures");
        let taped = taped_last(&measures).with_context(|| sheet.to_string())?;
        drop(building);
        let mut file = Vec::new();
        write_stl_binary(&taped.last.mesh, &mut file)?;
        one_file::write(out, &file, "--out")?;
        let made = Made { out, measures: &measures, size, taped: &taped };
        if self.json {
            return output::say_json(&made.as_json());
        }
        made.say();
        Ok(())
    }

    fn text(&self) -> anyhow::Result<String> {
        let sheet = self.sheet.display();
        let why = |why: &str| {
            anyhow::anyhow!(
                "{sheet}: {why}; `featherline last {sheet} --blank` writes a sheet to fill in, where \
                 there is no file of that name"
            )
        };
        let about = std::fs::metadata(&self.sheet)
            .map_err(|cause| why(&format!("cannot be read ({cause})")))?;
        if !about.is_file() || about.len() > LONGEST {
            return Err(why("is no sheet of measures"));
        }
        let bytes = std::fs::read(&self.sheet)
            .map_err(|cause| why(&format!("cannot be read ({cause})")))?;
        String::from_utf8(bytes).map_err(|_| why("is no text, so no sheet of measures"))
    }
}

/// What was made.
struct Made<'a> {
    out: &'a Path,
    measures: &'a TapeMeasures,
    size: Option<Size>,
    taped: &'a Taped,
}

impl Made<'_> {
    /// The call that comes next, as it is typed.
    fn next(&self) -> String {
        // Without a size, the nearest; where none is near, the user's to say.
        let size = self.size.or(self.taped.measures.sizes.eu);
        let size = size.map_or_else(|| "YOUR SIZE".into(), |size| size.to_string());
        format!(
            "featherline new my-job --last {} --size \"{size}\" --foot {} --heel-height {} --unit mm",
            self.out.display(),
            self.measures.foot,
            tenth(self.taped.measures.heel_height),
        )
    }

    fn as_json(&self) -> serde_json::Value {
        let met = |met: &Met| json!({ "name": met.name, "entered": met.entered, "has": met.has });
        json!({
            "file": self.out,
            "unit": "mm",
            "foot": self.measures.foot,
            "size": self.size,
            "standard_last_length": self.measures.standard_last_length,
            "toe_extension": self.measures.extension(),
            "triangles": self.taped.last.mesh.triangles.len(),
            "measures": self.taped.met.iter().map(met).collect::<Vec<_>>(),
            "approximation": UNKNOWN,
            "next": self.next(),
        })
    }

    fn say(&self) {
        let length = self.measures.standard_last_length;
        output::say(&format!(
            "{}: a last of standard length {length:.1} mm, {} triangles",
            self.out.display(),
            self.taped.last.mesh.triangles.len()
        ));
        output::say("");
        output::say(&format!("{:<20} {:>9} {:>9}", "measure, mm", "entered", "the last"));
        for met in &self.taped.met {
            let entered =
                met.entered.map_or_else(|| "follows".into(), |value| format!("{value:.1}"));
            output::say(&format!("{:<20} {entered:>9} {:>9.1}", met.name, met.has));
        }
        output::say("");
        output::say(UNKNOWN);
        output::say(&format!("next: {}", self.next()));
    }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
