//! How many people's ankles the edge would reach, by survey: the finished edge above the lowest place of
//! the seat, where the foot stands, against the surveyed height of the ankle point.
//!
//! Surveys measured the point of the bone, upright from the floor, on bare feet that stood flat. So
//! heights are taken square to the seat here, whatever the heel; the border of the bone is taken
//! to lie lower than its point by an assumed drop, which is stated and can be changed; and so can the
//! height of the feather line above the lowest place of the seat.

use geometry::mesh::TriMesh;
use glam::DVec3;
use serde::Serialize;

use super::Stiffener;
use super::chart::Chart;
use super::limits::ANKLE_REACH;
use crate::foot::Side;
use crate::reasons::{Check, Mark, Verdict};
use crate::survey::{AnkleSurvey, Sex};

/// More people than this whose ankle the edge would reach are a warning, %. Common practice, no
/// source.
const MOST: f64 = 5.0;

/// The edge against the surveyed ankles, of one piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ankles {
    /// The foot that the size is for, mm.
    pub foot_length: f64,
    /// How far below the surveyed point the bone's lower border is taken to lie, mm.
    pub drop: f64,
    /// The inside and the outside.
    pub sides: Vec<AnkleSide>,
    /// What nobody measured, in words.
    pub not_known: Vec<String>,
}

/// The edge against one ankle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnkleSide {
    /// The side.
    pub side: Side,
    /// How high the feather line lies above the lowest place of the seat, below the ankle, mm.
    pub feather_height: f64,
    /// How high the edge stands above that place, at its highest under the ankle, mm.
    pub edge_height: f64,
    /// The share of people it would reach.
    pub shares: Vec<Share>,
}

/// The people of one survey.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// Whom it measured.
    pub sex: Sex,
    /// How many of a hundred with feet as long have their ankle's border at or below the edge.
    pub percent: f64,
    /// How many it measured.
    pub people: u32,
    /// Which survey.
    pub source: &'static str,
}

impl Ankles {
    /// Measures the edge of `piece`, which lies on the last that `chart` measures.
    pub fn of(piece: &Stiffener, chart: &Chart<'_, '_>) -> Self {
        let brief = &piece.brief;
        let up = square_to_the_seat(piece, chart);
        let floor = lowest_of_the_seat(chart.surface().mesh, piece, up) + piece.edge.zero;
        let foot_length = brief.foot_length;
        let mut not_known = Vec::new();
        let side_of = |side: Side| {
            let along = chart.along_at(side, piece.landmarks.ankle(side)).ok()?;
            let feather = chart.feather(along).dot(up) + piece.edge.zero;
            let edge = highest_under(piece, side, up)?;
            let feather_height = brief.feather_height.unwrap_or(feather - floor);
            let edge_height = edge - feather + feather_height;
            let surveys = surveys(side, brief.child, foot_length);
            let share = |survey: &AnkleSurvey| Share {
                sex: survey.sex,
                percent: 100.0 * survey.share_touched(edge_height, brief.ankle_drop, foot_length),
                people: survey.people,
                source: survey.source,
            };
            let shares = surveys.map(share).collect();
            Some(AnkleSide { side, feather_height, edge_height, shares })
        };
        let sides: Vec<AnkleSide> = Side::BOTH.into_iter().filter_map(side_of).collect();
        if brief.child {
            not_known.push(
                "No survey here measured children's ankles: nothing is said of how many the edge would reach."
                    .into(),
            );
        } else {
            for side in Side::BOTH {
                for sex in [Sex::Women, Sex::Men] {
                    not_known.extend(not_measured(side, sex, foot_length));
                }
            }
        }
        Self { foot_length, drop: brief.ankle_drop, sides, not_known }
    }

    /// The shares as checks: open where the edge would reach more people than usual.
    pub fn checks(&self) -> Vec<Check> {
        let of_side = |on: &AnkleSide| {
            let check = |share: &Share| Check {
                name: match share.sex {
                    Sex::Women => format!("women whose {} ankle the edge would reach", on.side),
                    Sex::Men => format!("men whose {} ankle the edge would reach", on.side),
                },
                value: share.percent,
                unit: "%".into(),
                limit: format!("{MOST:.0} % or fewer"),
                verdict: if share.percent <= MOST { Verdict::Pass } else { Verdict::Unsure },
                reason: format!(
                    "for feet of {:.1} mm by {}: the edge stands {:.1} mm above the lowest place of the seat (the feather line {:.1} mm), and the bone's border is taken to lie {:.1} mm below the surveyed point, which nobody measured",
                    self.foot_length, share.source, on.edge_height, on.feather_height, self.drop
                ),
                mark: Mark::CommonPractice,
                place: format!("{} ankle", on.side),
            };
            on.shares.iter().map(check).collect::<Vec<_>>()
        };
        self.sides.iter().flat_map(of_side).collect()
    }
}

/// The surveys of one ankle that measured feet of this length.
fn surveys(side: Side, child: bool, foot: f64) -> impl Iterator<Item = &'static AnkleSurvey> {
    let all = [Sex::Women, Sex::Men].into_iter().filter_map(move |sex| AnkleSurvey::of(sex, side));
    all.filter(move |survey| !child && survey.covers(foot))
}

/// Why nothing is said of one ankle of one sex.
fn not_measured(side: Side, sex: Sex, foot: f64) -> Option<String> {
    match AnkleSurvey::of(sex, side) {
        None => Some(format!("No survey here measured the {side} ankle of {sex}.")),
        Some(survey) if !survey.covers(foot) => Some(format!(
            "{}, {sex}, {side} ankle: too few feet of {foot:.0} mm were measured.",
            survey.source
        )),
        Some(_) => None,
    }
}

/// Upwards from the seat: square to the feather line from the seat to the breast, seen from the
/// side.
fn square_to_the_seat(piece: &Stiffener, chart: &Chart<'_, '_>) -> DVec3 {
    let breast = piece.landmarks.breast;
    let at_breast = Side::BOTH.map(|side| chart.along_at(side, breast).map(|a| chart.feather(a)));
    let [Ok(inside), Ok(outside)] = at_breast else { return DVec3::Z };
    let run = (inside + outside) / 2.0 - chart.feather(0.0);
    DVec3::new(-run.z, 0.0, run.x).normalize_or(DVec3::Z)
}

/// How far up the lowest place of the bottom lies between seat and breast, mm.
fn lowest_of_the_seat(mesh: &TriMesh, piece: &Stiffener, up: DVec3) -> f64 {
    let seat = mesh.positions.iter().filter(|p| (0.0..=piece.landmarks.breast).contains(&p.x));
    seat.map(|p| p.dot(up)).fold(f64::INFINITY, f64::min)
}

/// How far up the edge of the finished piece reaches within the ankle's reach, mm.
fn highest_under(piece: &Stiffener, side: Side, up: DVec3) -> Option<f64> {
    let ankle = piece.landmarks.ankle(side);
    let sign = piece.foot.medial_sign() * if side == Side::Medial { 1.0 } else { -1.0 };
    let places = piece.wall.free_edge.iter().map(|v| piece.wall.on_last.positions[*v as usize]);
    places
        .filter(|p| p.y * sign > 0.0 && (p.x - ankle).abs() <= ANKLE_REACH)
        .map(|p| p.dot(up))
        .reduce(f64::max)
}
