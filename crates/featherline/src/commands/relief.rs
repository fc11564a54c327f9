//! `featherline flatten --relief-cuts`: cuts from one long edge that let the piece lie flat.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use flatten::cuts::{self, CutOptions, Goal, ReliefCuts};
use flatten::{Material, Options};
use geometry::mesh::TriMesh;

use super::flatten::limits;
use crate::one_file;
use crate::progress::Progress;

/// The strain limit without a material, percent: above it board begins to pipe or gape.
/// Common practice, no source.
const STRAIN_LIMIT: f64 = 2.0;

#[derive(clap::Args)]
pub(crate) struct Relief {
    /// Suggest the fewest relief cuts that bring the strain under 2 %, or with --material under the
    /// limits of that, N at most (5 if not given). The cuts stand open in the flat mesh: its first vertices are those read, in their
    /// order, then those along the cuts; where a V is taken away, the vertices inside it are left
    /// out
    #[arg(
        long, value_name = "N", num_args = 0..=1, require_equals = true, default_missing_value = "5",
        value_parser = clap::value_parser!(u8).range(1..=20)
    )]
    relief_cuts: Option<u8>,
    /// The greatest depth of a relief cut, over the surface
    #[arg(long, value_name = "MM", default_value_t = 20.0, requires = "relief_cuts")]
    cut_depth: f64,
    /// The long edge that relief cuts start from: that which lies lower or higher in the file's z
    #[arg(long, value_enum, default_value_t = Edge::Lower, requires = "relief_cuts")]
    cuts_from: Edge,
    /// Where the surface itself goes with the cuts in it (OBJ, vertex for vertex and triangle for
    /// triangle as the flat mesh)
    #[arg(long, value_name = "OUT", requires = "relief_cuts")]
    cut_surface: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Edge {
    Lower,
    Upper,
}

/// A cut in the report.
#[derive(serde::Serialize)]
struct Cut {
    /// Where it starts: mm along the edge from its end, counter-clockwise seen from outside.
    along_mm: f64,
    depth_mm: f64,
    /// How wide the mouth stands open on the flat piece.
    opening_mm: f64,
    /// Width of the V that is taken away where the sides would overlap, else 0.
    taken_mm: f64,
    /// The two sides from the mouth to the tip, as vertices of the flat mesh, counted from 0.
    left: Vec<u32>,
    right: Vec<u32>,
}

/// What cuts add to the report.
#[derive(serde::Serialize)]
pub(crate) struct Cuts {
    cuts: Vec<Cut>,
    /// Length of the edge that they start from.
    cut_edge_mm: f64,
    /// Whether at most 6 % of the area is above the limit, and 99 % below 1.75 times it.
    limit_met: bool,
    /// 99 % of the area is strained no more than so many times the limit.
    p99_times_limit: f64,
    uncut_p99_times_limit: f64,
    #[serde(flatten)]
    over: Over,
    uncut_energy: f64,
    uncut_mean_strain: f64,
    uncut_p95_strain: f64,
    uncut_p99_strain: f64,
    /// Layouts made on the way, most of a coarser surface.
    solves: usize,
}

/// How much of the area was beyond the limit, percent.
#[derive(serde::Serialize)]
#[serde(untagged)]
enum Over {
    Strain {
        strain_limit: f64,
        area_over_2: f64,
        uncut_area_over_2: f64,
    },
    /// That of the cut piece stands in the report of every piece.
    Material {
        uncut_area_over_limit: f64,
        #[serde(skip)]
        area_over_limit: f64,
    },
}

impl Over {
    /// With cuts and without.
    fn both(&self) -> [f64; 2] {
        match *self {
            Self::Strain { area_over_2, uncut_area_over_2, .. } => [area_over_2, uncut_area_over_2],
            Self::Material { area_over_limit, uncut_area_over_limit } => {
                [area_over_limit, uncut_area_over_limit]
            }
        }
    }
}

impl Relief {
    /// Looks for cuts, if that was asked for. What comes back has the surface with the cuts open
    /// and its layout.
    pub(crate) fn suggest(
        &self,
        read: &Path,
        mesh: &TriMesh,
        layout: &Options,
        progress: &Progress,
    ) -> anyhow::Result<Option<(ReliefCuts, Cuts)>> {
        let Some(most) = self.relief_cuts else { return Ok(None) };
        if let Some(place) = &self.cut_surface {
            one_file::refuse_place(read, place, "--cut-surface")?;
        }
        if layout.worst_strain {
            anyhow::bail!(
                "--worst-strain spreads the strain over the piece, and --relief-cuts take it away where it \
                 gathers; give one of the two"
            );
        }
        let depth = self.cut_depth;
        if !(depth.is_finite() && depth > 0.0) {
            anyhow::bail!("--cut-depth is {depth} mm; it must be above 0");
        }
        let [one, other] = cuts::four_sides(mesh).map_err(no_sides)?.long;
        let mean_z = |side: &[u32]| {
            side.iter().map(|v| mesh.positions[*v as usize].z).sum::<f64>() / side.len() as f64
        };
        let one_is_lower = mean_z(&one) <= mean_z(&other);
        let edge = if one_is_lower == (self.cuts_from == Edge::Lower) { one } else { other };
        let at = |v: u32| mesh.positions[v as usize];
        let cut_edge_mm = edge.windows(2).map(|e| at(e[0]).distance(at(e[1]))).sum();
        let mut options = CutOptions::new(edge, usize::from(most), depth);
        let material = layout.material.as_ref();
        options.goal = material.map_or(Goal::under(STRAIN_LIMIT), Goal::within);
        options.layout = layout.clone();
        let found = cuts::suggest(mesh, &options, &mut |now| progress.now(searching(now)))?;
        if let Some(place) = &self.cut_surface {
            one_file::write(place, surface_obj(&found.mesh).as_bytes(), "--cut-surface")?;
        }
        let (cut, uncut) = (found.judged_cut, found.judged_uncut);
        let told = Cuts {
            cuts: found.cuts.iter().map(told).collect(),
            cut_edge_mm,
            limit_met: found.met,
            p99_times_limit: cut.times,
            uncut_p99_times_limit: uncut.times,
            over: match material {
                None => Over::Strain {
                    strain_limit: STRAIN_LIMIT,
                    area_over_2: cut.area_over,
                    uncut_area_over_2: uncut.area_over,
                },
                Some(_) => Over::Material {
                    area_over_limit: cut.area_over,
                    uncut_area_over_limit: uncut.area_over,
                },
            },
            uncut_energy: found.uncut.energy,
            uncut_mean_strain: found.uncut.strain.mean,
            uncut_p95_strain: found.uncut.strain.p95,
            uncut_p99_strain: found.uncut.strain.p99,
            solves: found.solves,
        };
        Ok(Some((found, told)))
    }
}

fn surface_obj(mesh: &TriMesh) -> String {
    let mut text = String::from("# cut surface, mm\n");
    for p in &mesh.positions {
        let _ = writeln!(text, "v {} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1);
    }
    text
}

fn no_sides(error: cuts::SidesError) -> anyhow::Error {
    anyhow::anyhow!(
        "{error}; --relief-cuts works on a band with two long edges, so leave it out for this piece"
    )
}

/// How far the search has come, in words.
fn searching(now: cuts::Progress) -> String {
    format!(
        "trying {} relief cut(s): {} of at most {} layouts made, {:.1} % of the area beyond the limit",
        now.cuts, now.solves, now.most_solves, now.judged.area_over
    )
}

fn told(cut: &cuts::Cut) -> Cut {
    Cut {
        along_mm: cut.along,
        depth_mm: cut.depth,
        opening_mm: cut.opening,
        taken_mm: cut.taken,
        left: cut.lips.left.clone(),
        right: cut.lips.right.clone(),
    }
}

impl Cuts {
    /// The lines for people, each beginning with a new line.
    pub(crate) fn summary(&self, p99_strain: f64, material: Option<&Material>) -> String {
        let mut text = String::new();
        if self.cuts.is_empty() {
            text.push_str(if self.limit_met {
                "\n  no relief cuts are needed"
            } else {
                "\n  no relief cut was found that helps"
            });
            return text;
        }
        let limits = material
            .and_then(limits)
            .unwrap_or_else(|| format!("strained by more than {STRAIN_LIMIT} %"));
        let [over, uncut_over] = self.over.both();
        let _ = write!(
            text,
            "\n  {} relief cut(s): {over:.1} % of the area is {limits}, without them \
             {uncut_over:.1} %; 99 % of the area below {p99_strain:.2} %, without them {:.2} %",
            self.cuts.len(),
            self.uncut_p99_strain,
        );
        for cut in &self.cuts {
            let _ = write!(
                text,
                "\n    at {:.1} of {:.1} mm along the edge, {:.1} mm deep: ",
                cut.along_mm, self.cut_edge_mm, cut.depth_mm
            );
            let _ = match cut.taken_mm > 0.0 {
                true => write!(text, "take away a V {:.1} mm wide", cut.taken_mm),
                false => write!(text, "opens to {:.1} mm", cut.opening_mm),
            };
        }
        if !self.limit_met {
            text.push_str("\n    more strain is left than the limit allows");
        }
        text
    }
}
