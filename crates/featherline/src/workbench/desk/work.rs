//! Works a job out in the background, always the newest: reads, mends and stands the scan, draws the
//! piece and lays it flat. What did not change since the last time is not done again.

use std::fs;
use std::path::Path;
use std::sync::{Arc, PoisonError};
use std::time::SystemTime;

use geometry::surface::{Pick, Surface};
use geometry::warned::{Warned, Warning};
use shoe::draft::{DraftError, Drafted, draft_on, given};
use shoe::job::Job;
use shoe::last::measure::measure;
use shoe::last::mend::Workpiece;
use shoe::last::scan::Standing;
use shoe::last::stand::{Given, Last};
use shoe::stiffener::StiffenerError;
use shoe::stiffener::chart::Chart;
use shoe::stiffener::edge::EdgeError;

use super::follow::Following;
use super::{Desk, Told, doing};
use crate::workbench::bytes;
use crate::workbench::told::last::{self, LastTold};
use crate::workbench::told::piece;
use crate::workbench::told::report::{self, ReportTold};
use crate::workbench::told::state::PlacedTrouble;
use crate::workbench::trouble::Trouble;

/// What was worked out so far.
#[derive(Default)]
pub(super) struct Worked {
    /// The revision that it follows from, troubles included.
    revision: u64,
    read: Option<Arc<[u8]>>,
    stood: Option<Arc<Stood>>,
    piece: Option<Arc<Piece>>,
}

/// A scan, stood.
pub(super) struct Stood {
    given: Given,
    standing: Warned<Standing>,
    told: LastTold,
    bytes: Arc<[u8]>,
    pick: Pick,
}

impl Stood {
    pub(super) fn last(&self) -> &Last {
        &self.standing.value.last
    }
}

/// A piece as it is cut.
struct Piece {
    revision: u64,
    drafted: Arc<Drafted>,
    told: Arc<[u8]>,
    report: ReportTold,
}

impl Worked {
    pub(super) fn revision(&self) -> u64 {
        self.revision
    }

    /// The last, where it stands as `job` says.
    pub(super) fn stood_for(&self, job: &Job) -> Option<Arc<Stood>> {
        self.stood.clone().filter(|stood| stood.given == given(job))
    }

    pub(super) fn last(&self) -> Option<&Last> {
        self.stood.as_ref().map(|stood| &stood.standing.value.last)
    }

    /// What was said about the last that stands.
    pub(super) fn given(&self) -> Option<&Given> {
        self.stood.as_ref().map(|stood| &stood.given)
    }

    pub(super) fn pick(&self) -> Option<&Pick> {
        self.stood.as_ref().map(|stood| &stood.pick)
    }

    pub(super) fn last_told(&self) -> Option<&LastTold> {
        self.stood.as_ref().map(|stood| &stood.told)
    }

    /// The newest piece there is, be it of an older revision.
    pub(super) fn drafted(&self) -> Option<&Drafted> {
        self.piece.as_ref().map(|piece| &*piece.drafted)
    }

    /// The piece, if it follows from the newest revision worked out.
    pub(super) fn drafted_now(&self) -> Option<Arc<Drafted>> {
        let piece = self.piece.as_ref().filter(|piece| piece.revision == self.revision)?;
        Some(piece.drafted.clone())
    }

    pub(super) fn report_told(&self) -> Option<&ReportTold> {
        self.piece.as_ref().map(|piece| &piece.report)
    }

    pub(super) fn piece_told(&self) -> Option<Arc<[u8]>> {
        self.piece.as_ref().map(|piece| piece.told.clone())
    }

    pub(super) fn read_bytes(&self) -> Option<Arc<[u8]>> {
        self.read.clone()
    }

    pub(super) fn stood_bytes(&self) -> Option<Arc<[u8]>> {
        self.stood.as_ref().map(|stood| stood.bytes.clone())
    }
}

/// Which file a scan was read from, and how it was then.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stamp {
    name: String,
    bytes: u64,
    modified: Option<SystemTime>,
}

impl Stamp {
    pub(super) fn of(path: &Path) -> Option<Self> {
        let about = fs::metadata(path).ok()?;
        let name = path.display().to_string();
        Some(Self { name, bytes: about.len(), modified: about.modified().ok() })
    }
}

/// What the worker keeps for the next time.
#[derive(Default)]
struct Kept {
    scan: Option<(Option<Stamp>, Workpiece)>,
    /// Counts the meshes, so that the page knows when to fetch one anew.
    meshes: u64,
}

/// Works out every new revision until the desk is cleared.
pub(super) fn keep_working(desk: &Desk) {
    let mut kept = Kept::default();
    loop {
        let (revision, job, mesh, stamp, name) = {
            let mut open = desk.lock();
            while open.worked.revision == open.revision && !open.closed {
                open = desk.changed.wait(open).unwrap_or_else(PoisonError::into_inner);
            }
            if open.closed {
                return;
            }
            let job = open.folder.job().clone();
            let name = job.name.clone();
            let mesh = open.folder.mesh_path();
            let stamp = Stamp::of(&mesh);
            open.scan.clone_from(&stamp);
            (open.revision, job, mesh, stamp, name)
        };
        let outcome = work_out(desk, &mut kept, &job, (&mesh, stamp), revision);
        let mut open = desk.lock();
        open.worked.revision = revision;
        match outcome {
            Ok(made) => {
                open.trouble = None;
                let told = made.told.clone();
                open.following = Some(Following::start(made.drafted.clone(), name));
                open.worked.piece = Some(Arc::new(made));
                desk.send(Told::Bytes(told));
            }
            Err(trouble) => {
                open.following = None;
                open.trouble = Some(trouble);
            }
        }
        desk.send(desk.state_of(&open));
        if open.revision == revision {
            open.doing = None;
            desk.send(doing(None));
        }
        desk.changed.notify_all();
    }
}

impl Desk {
    fn now(&self, words: &str) {
        self.lock().doing = Some(words.to_owned());
        self.send(doing(Some(words)));
    }
}

fn work_out(
    desk: &Desk,
    kept: &mut Kept,
    job: &Job,
    (mesh, stamp): (&Path, Option<Stamp>),
    revision: u64,
) -> Result<Piece, PlacedTrouble> {
    let at_the_last =
        |error: &dyn std::error::Error| PlacedTrouble { trouble: Trouble::of(error), step: "last" };
    kept.scan.take_if(|(read, _)| stamp.is_none() || *read != stamp);
    let workpiece = match &mut kept.scan {
        Some((_, workpiece)) => workpiece,
        none => {
            desk.now("reading the scan");
            desk.lock().worked.stood = None;
            let scan = geometry::read::read_mesh(mesh).map_err(|e| at_the_last(&e))?.value.mesh;
            desk.lock().worked.read = Some(bytes::mesh(&scan).into());
            desk.changed.notify_all();
            desk.now("mending the scan");
            let workpiece = Workpiece::new(&scan).map_err(|e| at_the_last(&e))?;
            &mut none.insert((stamp, workpiece)).1
        }
    };
    let given = given(job);
    let stood = desk.lock().worked.stood_for(job);
    let stood = match stood {
        Some(stood) => stood,
        None => {
            desk.now("standing the last and finding its marks");
            let standing = workpiece
                .stand(&given)
                .map_err(|e| PlacedTrouble { trouble: e.into(), step: "last" })?;
            kept.meshes += 1;
            let stood = Arc::new(stood_told(job, given, standing, kept.meshes));
            let mut open = desk.lock();
            open.worked.stood = Some(stood.clone());
            desk.changed.notify_all();
            desk.send(desk.state_of(&open));
            stood
        }
    };
    desk.now("drawing the stiffener and laying it flat");
    let Warned { value: Standing { last, repairs, .. }, warnings } = &stood.standing;
    let repaired = repairs.iter().cloned().map(Warning::from);
    let warnings = repaired.chain(warnings.iter().cloned()).collect();
    let drafted = draft_on(job, last.clone(), warnings).map_err(placed)?.value;
    let surface = Surface::new(&drafted.last.mesh).map_err(|e| at_the_last(&e))?;
    let line = &drafted.last.marks.feather_line.points;
    let chart = Chart::new(&surface, line, drafted.last.foot).map_err(|e| at_the_last(&e))?;
    let told = piece::tell(&chart, &drafted.stiffener, &job.name, revision, None);
    let report = report::tell(&chart, &drafted);
    Ok(Piece { revision, told: told.into(), report, drafted: Arc::new(drafted) })
}

fn stood_told(job: &Job, given: Given, standing: Warned<Standing>, count: u64) -> Stood {
    let Warned { value, warnings } = &standing;
    let Warned { value: measures, warnings: on_measures } =
        measure(&value.last, &value.scan, Some(job.last.size));
    let warnings: Vec<_> = warnings.iter().chain(&on_measures).cloned().collect();
    let triangles = value.scan.triangles.len();
    let mesh = count.to_string();
    let held = job.last.pose.is_some();
    let told = last::tell(&value.last, mesh, triangles, &value.repairs, &warnings, &measures, held);
    let bytes = bytes::mesh(&value.scan).into();
    let pick = Pick::new(&value.last.mesh);
    Stood { given, told, bytes, pick, standing }
}

/// A trouble of drafting with the station at which it is mended.
fn placed(error: DraftError) -> PlacedTrouble {
    let step = match &error {
        DraftError::Scan(_) | DraftError::Surface(_) | DraftError::Chart(_) => "last",
        DraftError::Stiffener(StiffenerError::Edge(EdgeError::NoWing { .. })) => "marks",
        DraftError::Stiffener(_) => "stiffener",
    };
    PlacedTrouble { trouble: error.into(), step }
}
