//! What was filled, in words.

use glam::DVec3;

use super::Hole;
use crate::mesh::repair::{MOST_PLACES, Repair, RepairKind, largest_places};
use crate::mesh::weld::size_and_middle;

/// Holes below this part of the span are told together: 3 mm on a form of 300 mm.
const SMALL: f64 = 0.01;

/// One repair each for the larger holes, and one for all the others. `joined` is how many
/// vertices were joined where a rim met itself.
pub(super) fn repairs(holes: &[Hole], joined: usize, span: f64) -> Vec<Repair> {
    let mut repairs = Vec::new();
    let (mut single, mut rest) = (Vec::new(), Vec::new());
    // Invented edges must be seen, so their holes come before larger ones.
    for wanted in [true, false] {
        for hole in holes.iter().filter(|hole| hole.sharp == wanted) {
            let room = single.len() < MOST_PLACES;
            let list = if room && hole.extent > SMALL * span { &mut single } else { &mut rest };
            list.push(hole);
        }
    }
    single.sort_by(|a, b| b.extent.total_cmp(&a.extent));
    repairs.extend(single.into_iter().map(one));
    rest.sort_by(|a, b| b.extent.total_cmp(&a.extent));
    if let Some(largest) = rest.first() {
        let sharp = rest.iter().filter(|hole| hole.sharp).count();
        let mut message = format!("small holes filled: {}, up to {{}} across", rest.len());
        if sharp > 0 {
            message += &format!("; {sharp} of them across a sharp edge, which is invented there");
        }
        let hint = if sharp > 0 { "look at the edge there" } else { "nothing to do" };
        let places = rest.iter().map(|hole| hole.middle).collect();
        let told = Repair::new(RepairKind::HoleFilled, rest.len(), places, message, hint);
        repairs.push(told.with_lengths(vec![largest.extent]));
    }
    if joined > 0 {
        repairs.push(Repair::new(
            RepairKind::PointsJoined,
            joined,
            Vec::new(),
            format!("points joined where a rim met itself: {joined}"),
            "nothing to do",
        ));
    }
    repairs
}

/// What is said of the triangles taken off folded rims, given their corners for each time.
pub(super) fn trimmed(rounds: &[Vec<[DVec3; 3]>]) -> Option<Repair> {
    let sized: Vec<(f64, DVec3)> =
        rounds.iter().flatten().map(|corners| size_and_middle(*corners)).collect();
    let count = sized.len();
    (count > 0).then(|| {
        Repair::new(
            RepairKind::TwistedRemoved,
            count,
            largest_places(sized),
            format!("triangles removed where the rim of a hole is folded over it: {count}"),
            "look at the surface there",
        )
    })
}

fn one(hole: &Hole) -> Repair {
    let mut message = "a hole filled: {} across, its rim {} long".to_owned();
    let hint = if hole.sharp {
        message += "; a sharp edge runs through it, and is invented there";
        "look at the edge there; scan that part again if the edge matters"
    } else {
        "look at the surface there; scan that part again if it matters"
    };
    Repair::new(RepairKind::HoleFilled, 1, vec![hole.middle], message, hint)
        .with_lengths(vec![hole.extent, hole.length])
}

/// What is said of the opening that stays.
pub(super) fn opening_left(hole: &Hole) -> Repair {
    Repair::new(
        RepairKind::OpeningLeft,
        1,
        vec![hole.middle],
        "an opening left as it is: {} across, its rim {} long",
        "nothing to do when the form is open there; otherwise close it in the scan program",
    )
    .with_lengths(vec![hole.extent, hole.length])
}
