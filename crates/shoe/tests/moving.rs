//! A stiffener whose marks are dragged, against one drafted afresh with the same marks.

use geometry::surface::Surface;
use glam::DVec2;
use shoe::draft::{Drafted, draft};
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::stiffener::chart::Chart;
use shoe::stiffener::edge::TopEdge;
use shoe::stiffener::limits::Landmarks;
use shoe::stiffener::wall::Wall;
use shoe::stiffener::{Ground, Moving, MovingError};

/// How far the piece that follows may lie from the one drafted afresh, mm: what cannot be seen
/// beside a drawn line.
const UNSEEN: f64 = 0.05;

fn drafted(foot: Foot, radius: f64) -> (Job, Drafted) {
    let text = format!(
        "schema = 1\nname = \"test\"\n[last]\nfile = \"last.stl\"\nsize = \"EU 39\"\nunit = \"mm\"\nfoot = \"{foot}\"\nheel_height = 25\n"
    );
    let job = Job::from_toml(&text, "job.toml").expect("a sound job");
    let mut measures = LastMeasures::for_size(260.0, foot);
    measures.heel_height = 25.0;
    measures.edge_radius = radius;
    let last = build_last(&measures).expect("ordinary measures").mesh;
    let drafted = draft(&job, &last).expect("an ordinary last").value;
    (job, drafted)
}

/// Calls `with` with the chart of the last, and its ground.
fn on_ground<T>(
    (job, drafted): &(Job, Drafted),
    with: impl FnOnce(&Chart<'_, '_>, &mut Moving<'_>) -> T,
) -> T {
    let last = &drafted.last;
    let surface = Surface::new(&last.mesh).expect("a manifold");
    let line = &last.marks.feather_line.points;
    let chart = Chart::new(&surface, line, last.foot).expect("a feather line");
    let before = &drafted.stiffener;
    let distance = job.brief().neutral_offset();
    let ground = Ground::about(&chart, &before.edge, distance).expect("room about the piece");
    let mut moving =
        Moving::begin(&chart, &ground, &before.edge, &before.wall).expect("it lies there");
    with(&chart, &mut moving)
}

/// Marks a few millimetres from where they were.
fn dragged(from: &Landmarks) -> Vec<(&'static str, Landmarks)> {
    let ankles = Landmarks { ankle: (from.ankle.0 + 6.0, from.ankle.1 - 5.0), ..*from };
    let joints = Landmarks { joint: (from.joint.0 - 6.0, from.joint.1 + 4.0), ..*from };
    let nothing = *from;
    let shorter = Landmarks { joint: (from.joint.0 - 9.0, from.joint.1 - 9.0), ..*from };
    vec![("nothing", nothing), ("ankles", ankles), ("joints", joints), ("wings", shorter)]
}

fn apart(one: &[DVec2], other: &[DVec2]) -> f64 {
    let from = |p: DVec2, line: &[DVec2]| {
        let sides = line.windows(2).map(|w| {
            let side = w[1] - w[0];
            let share = ((p - w[0]).dot(side) / side.length_squared()).clamp(0.0, 1.0);
            p.distance(w[0] + side * share)
        });
        sides.fold(f64::INFINITY, f64::min)
    };
    let there = one.iter().map(|p| from(*p, other));
    let back = other.iter().map(|p| from(*p, one));
    there.chain(back).fold(0.0, f64::max)
}

/// The largest distance between the lines of two flat walls, mm.
fn walls_apart(one: &Wall, other: &Wall) -> f64 {
    let lines = |wall: &Wall| {
        [&wall.feather, &wall.free_edge, &wall.centre_back].map(|chain| wall.flat_line(chain))
    };
    lines(one).iter().zip(&lines(other)).map(|(a, b)| apart(a, b)).fold(0.0, f64::max)
}

#[test]
fn what_follows_lies_where_a_fresh_piece_would() {
    // On a rounded edge the triangles of the ground cut the corner.
    for (foot, radius) in [(Foot::Right, 0.0), (Foot::Left, 1.5), (Foot::Left, 3.0)] {
        let made = drafted(foot, radius);
        on_ground(&made, |chart, moving| {
            let brief = made.0.brief();
            for (what, marks) in dragged(&made.1.stiffener.landmarks) {
                let edge = TopEdge::design(chart, &brief, &marks).expect("an edge");
                let followed = moving.follow(&edge).expect("near enough");
                let fresh = Wall::make(chart, &edge, brief.neutral_offset()).expect("a wall");
                let off = walls_apart(&followed, &fresh);
                assert!(off <= UNSEEN, "{what} moved, radius {radius}: {off} mm");
                let strain = (followed.strain.mean - fresh.strain.mean).abs();
                assert!(strain < 0.05, "{what} moved, radius {radius}: strain by {strain} %");
            }
        });
    }
}

/// The top edge leapt by 0.2 to 0.3 mm whenever one more of its millimetres came under the ceiling.
#[test]
fn the_edge_goes_no_further_than_the_marks() {
    const STEP: f64 = 0.05;
    let (job, drafted) = drafted(Foot::Right, 0.0);
    let surface = Surface::new(&drafted.last.mesh).expect("a manifold");
    let line = &drafted.last.marks.feather_line.points;
    let chart = Chart::new(&surface, line, drafted.last.foot).expect("a feather line");
    let from = drafted.stiffener.landmarks;
    let edge = |by: f64| {
        let marks = Landmarks {
            ankle: (from.ankle.0 + by, from.ankle.1 + by),
            joint: (from.joint.0 + by, from.joint.1 + by),
            ..from
        };
        TopEdge::design(&chart, &job.brief(), &marks).expect("an edge")
    };
    let mut before = edge(0.0);
    for k in 1..=30 {
        let now = edge(f64::from(k) * STEP);
        let [left, right] = before.ends.map(|end| end.along);
        let places = (0..=1000).map(|i| left + (right - left) * f64::from(i) / 1000.0);
        let most = places.map(|s| (now.height(s) - before.height(s)).abs()).fold(0.0, f64::max);
        assert!(most < STEP, "{most} mm at step {k}");
        before = now;
    }
}

/// Not only the end of the way counts.
#[test]
fn dragged_there_and_back_it_is_as_before() {
    let made = drafted(Foot::Right, 0.0);
    on_ground(&made, |chart, moving| {
        let brief = made.0.brief();
        let edge = |marks: &Landmarks| TopEdge::design(chart, &brief, marks).expect("an edge");
        let marks = dragged(&made.1.stiffener.landmarks);
        let before = moving.follow(&edge(&marks[0].1)).expect("near enough");
        let away = moving.follow(&edge(&marks[2].1)).expect("near enough");
        let again = moving.follow(&edge(&marks[0].1)).expect("near enough");
        assert!(walls_apart(&before, &away) > 3.0, "it moved at all");
        let off = walls_apart(&before, &again);
        assert!(off < 0.01, "{off} mm");
    });
}

/// Where the ceiling under the ankle begins the edge has a corner. When a wing was shortened, the
/// vertices of the whole edge slid along, past that corner, by up to 4 mm; on a scan of 100,000
/// triangles that squeezed one so much that from 1.2 mm on the piece did not follow any more.
#[test]
fn a_shorter_wing_leaves_the_edge_over_the_ankle_alone() {
    let made = drafted(Foot::Right, 0.0);
    on_ground(&made, |chart, moving| {
        let brief = made.0.brief();
        let here = made.1.stiffener.landmarks;
        let before = moving.follow(&made.1.stiffener.edge).expect("near enough");
        let joint = (here.joint.0 - 9.6, here.joint.1 - 9.6);
        let edge = TopEdge::design(chart, &brief, &Landmarks { joint, ..here }).expect("an edge");
        let after = moving.follow(&edge).expect("near enough");
        let place = |wall: &Wall, v: u32| wall.on_last.positions[v as usize];
        let went = |v: &u32| place(&before, *v).distance(place(&after, *v));
        // The edge itself bends otherwise; what counts is that none goes along it.
        let edge = after.line_on_last(&after.free_edge);
        let to_edge = |v: &u32| {
            let from = place(&before, *v);
            edge.iter().map(|p| p.distance(from)).fold(f64::INFINITY, f64::min)
        };
        let (near, far): (Vec<&u32>, Vec<&u32>) =
            before.free_edge.iter().partition(|v| place(&before, **v).x < here.ankle.0 + 25.0);
        let most = near.into_iter().map(|v| went(v) - to_edge(v)).fold(0.0, f64::max);
        assert!(most < 0.1, "{most} mm");
        assert!(far.into_iter().map(went).fold(0.0, f64::max) > 9.0, "the wing was shortened");
    });
}

#[test]
fn what_goes_too_far_is_told_and_spoils_nothing() {
    let made = drafted(Foot::Right, 0.0);
    on_ground(&made, |chart, moving| {
        let brief = made.0.brief();
        let here = made.1.stiffener.landmarks;
        let before = moving.follow(&made.1.stiffener.edge).expect("near enough");
        let far = Landmarks { joint: (here.joint.0 + 25.0, here.joint.1), ..here };
        let edge = TopEdge::design(chart, &brief, &far).expect("an edge");
        assert!(matches!(moving.follow(&edge), Err(MovingError::TooFar)));
        let again = moving.follow(&made.1.stiffener.edge).expect("near enough");
        assert!(walls_apart(&before, &again) < 0.01);
    });
}
