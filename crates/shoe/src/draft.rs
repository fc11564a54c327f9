//! The whole way once: from the settings of a job and the scan as read to the finished piece.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::surface::{Closest, Surface};
use geometry::warned::{Warned, Warning};
use glam::DVec3;

use crate::job::Job;
use crate::last::marks::{Finding, GivenMarks};
use crate::last::scan::{ScanError, Standing, stand_scan};
use crate::last::stand::{Given, Last};
use crate::last::tell::LENGTH_FOR_SIZE;
use crate::reasons::{Check, Mark, Verdict};
use crate::report::{Found, Notice, Report};
use crate::stiffener::ankles::Ankles;
use crate::stiffener::brief::{Brief, Kind};
use crate::stiffener::chart::{Chart, ChartError};
use crate::stiffener::limits::Landmarks;
use crate::stiffener::neighbour::Neighbour;
use crate::stiffener::nicks::NickError;
use crate::stiffener::{self, Stiffener, StiffenerError, verify, wall_cuts};

/// A mark further off the surface than this does not belong to this last, mm: a fingertip.
const ON_THE_LAST: f64 = 20.0;

/// A drafted job.
#[derive(Debug, Clone)]
pub struct Drafted {
    /// The last, standing, with its marks.
    pub last: Last,
    /// The stiffener.
    pub stiffener: Stiffener,
    /// What is said about it.
    pub report: Report,
}

/// Why a job could not be drafted.
#[derive(Debug, thiserror::Error)]
pub enum DraftError {
    /// The scan is no last.
    #[error(transparent)]
    Scan(#[from] ScanError),
    /// The surface is not sound.
    #[error("the scan's surface is not sound")]
    Surface(#[from] AdjacencyError),
    /// The wall could not be measured.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The stiffener could not be drafted.
    #[error(transparent)]
    Stiffener(#[from] StiffenerError),
}

/// Drafts `job` on `scan`, the mesh of its last as read from the file.
///
/// # Errors
/// When the scan is no last, or the rules cannot be met on it; the messages say what to change.
pub fn draft(job: &Job, scan: &TriMesh) -> Result<Warned<Drafted>, DraftError> {
    let Warned { value: Standing { last, repairs, .. }, warnings } = stand_scan(scan, &given(job))?;
    let repaired = repairs.into_iter().map(Warning::from);
    draft_on(job, last, repaired.chain(warnings).collect())
}

/// The second half of [`draft`]: on `last`, stood with what the job says. `warnings` are what was told
/// of it so far; the others come behind them.
///
/// # Errors
/// When the rules cannot be met on the last; the messages say what to change.
pub fn draft_on(
    job: &Job,
    last: Last,
    warnings: Vec<Warning>,
) -> Result<Warned<Drafted>, DraftError> {
    draft_for_all(job, job.brief(), last, warnings, &[])
}

/// [`draft_on`] with the answers in `brief`, the piece to serve `others` too: sizes drafted on lasts of
/// their own, whose limits its edge keeps.
///
/// # Errors
/// As [`draft_on`].
pub fn draft_for_all(
    job: &Job,
    brief: Brief,
    last: Last,
    mut warnings: Vec<Warning>,
    others: &[&Drafted],
) -> Result<Warned<Drafted>, DraftError> {
    let surfaces: Vec<Surface<'_>> =
        others.iter().map(|o| Surface::new(&o.last.mesh)).collect::<Result<_, _>>()?;
    let neighbours = others.iter().zip(&surfaces).map(|(other, surface)| {
        let Drafted { last, stiffener, .. } = other;
        let chart = Chart::new(surface, &last.marks.feather_line.points, last.foot)?;
        Ok(Neighbour { chart, brief: &stiffener.brief, landmarks: &stiffener.landmarks })
    });
    let neighbours: Vec<Neighbour<'_>> = neighbours.collect::<Result<_, ChartError>>()?;
    let surface = Surface::new(&last.mesh)?;
    let chart = Chart::new(&surface, &last.marks.feather_line.points, last.foot)?;
    let marks = &last.marks;
    let landmarks = Landmarks::of(marks);
    let placed = (on_the_last(&last, marks.ankle_medial), on_the_last(&last, marks.ankle_lateral));
    let stiffener = stiffener::draft(&chart, &brief, &landmarks, placed, &neighbours)?;
    warnings.extend(stiffener.wall.warnings.clone());
    warnings.extend(moulded(brief.kind));
    warnings.extend(wall_cuts::not_for_this_kind(&brief));

    let mut checks = vec![size_fits(job, &last), foot_fits(&last)];
    checks.extend(verify::checks(&stiffener, &chart)?);
    let ankles = Ankles::of(&stiffener, &chart);
    checks.extend(ankles.checks());
    let notices = warnings
        .iter()
        .map(|w| Notice {
            place: w.place.clone(),
            message: w.message.clone(),
            hint: w.hint.clone(),
        })
        .collect();
    let report = Report::new(&job.name, &stiffener, checks, ankles, notices, found_on(&last));
    Ok(Warned { value: Drafted { last, stiffener, report }, warnings })
}

impl Drafted {
    /// The same for the other foot of an even pair: last and piece are the mirror images.
    ///
    /// # Errors
    /// When the margin has no room for the nicks of the other foot.
    pub fn mirrored(&self) -> Result<Self, NickError> {
        let last = self.last.mirrored();
        let stiffener = self.stiffener.mirrored()?;
        let own = foot_fits(&self.last);
        let checks = self
            .report
            .checks
            .iter()
            .map(|check| if check.name == own.name { foot_fits(&last) } else { check.clone() });
        let Report { job, ankles, warnings, .. } = &self.report;
        let report = Report::new(
            job,
            &stiffener,
            checks.collect(),
            ankles.clone(),
            warnings.clone(),
            found_on(&last),
        );
        Ok(Self { last, stiffener, report })
    }

    /// The checks with one outcome.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.report.checks.iter().filter(|c| c.verdict == verdict).count()
    }
}

/// What the job says about the last, for standing it.
pub fn given(job: &Job) -> Given {
    let marks = &job.marks;
    Given {
        unit: job.last.unit,
        foot: job.last.foot,
        last_from_file: job.last.last_from_file(),
        heel_height: job.last.heel_height,
        marks: GivenMarks {
            seat: marks.seat,
            joint_medial: marks.joint_medial,
            joint_lateral: marks.joint_lateral,
            ankle_medial: marks.ankle_medial,
            ankle_lateral: marks.ankle_lateral,
            breast: marks.breast,
            centre_back_top: marks.centre_back_top,
            waist: marks.waist,
            instep: marks.instep,
            vamp: marks.vamp,
            toe: marks.toe,
            top_front: marks.top_front,
            top_back: marks.top_back,
            feather_line: marks.feather_line.clone(),
        },
        standard_last_length: Some(job.last.size.standard_last_length()),
    }
}

/// Whether the user placed a mark, and it lies on this last.
fn on_the_last(last: &Last, mark: Option<DVec3>) -> bool {
    let closest = Closest::new(&last.mesh);
    mark.is_some_and(|place| {
        let nearest = closest.to(place, 0.0).map(|p| p.position(&last.mesh));
        nearest.is_some_and(|p| p.distance(place) <= ON_THE_LAST)
    })
}

fn found_on(last: &Last) -> Vec<Found> {
    let told = |f: &Finding| Found { sureness: f.sureness, words: f.sentence.clone() };
    last.found.iter().map(told).collect()
}

/// A size that does not fit the form makes every height wrong.
fn size_fits(job: &Job, last: &Last) -> Check {
    let standard = job.last.size.standard_last_length().get();
    let length = last.mesh.bounds().map_or(0.0, |(low, high)| high.x - low.x);
    let fits = LENGTH_FOR_SIZE.contains(&(length / standard));
    let [least, most] = [LENGTH_FOR_SIZE.start(), LENGTH_FOR_SIZE.end()].map(|f| f * standard);
    Check {
        name: "length of the last against its size".into(),
        value: length,
        unit: "mm".into(),
        limit: format!("{least:.0} to {most:.0} mm for {}", job.last.size),
        verdict: if fits { Verdict::Pass } else { Verdict::Unsure },
        reason: "back height and ankle ceilings follow from the size; check the size and the unit"
            .into(),
        mark: Mark::CommonPractice,
        place: "the last".into(),
    }
}

/// A last taken for the other foot changes inside and outside.
fn foot_fits(last: &Last) -> Check {
    let (shape, sureness) = last.foot_by_shape;
    let fits = shape == last.foot && sureness > 0.4;
    Check {
        name: format!("sureness that the last is for the {} foot", last.foot),
        value: 100.0 * sureness,
        unit: "%".into(),
        limit: format!("over 40 % for a {} last; its shape is that of a {shape} one", last.foot),
        verdict: if fits { Verdict::Pass } else { Verdict::Unsure },
        reason: "with the wrong foot inside and outside change places; a scan may also be mirrored"
            .into(),
        mark: Mark::Measured,
        place: "the last".into(),
    }
}

fn moulded(kind: Kind) -> Option<Warning> {
    (kind == Kind::Moulded).then(|| Warning {
        place: "stiffener".into(),
        message: "a moulded stiffener is bought in shape, not cut flat".into(),
        hint: "use the drawing to choose it, trim it and check its height and wings".into(),
    })
}
