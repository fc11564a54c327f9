//! Moves vertices onto the creases of a moved surface, so that no triangle bridges them.

use glam::DVec3;

use super::Moved;
use super::level::Foot;

/// Two ends of an edge whose directions away from the original differ by less than this cosine (20
/// degrees) have no crease between them that is worth a vertex.
const KINK: f64 = 0.94;

/// An edge may bridge a crease by this much, mm.
const BRIDGED: f64 = 0.01;

/// No triangle may lose more of its area than down to this share to follow a crease; more where
/// triangles still bridge it after that.
const KEPT: [f64; 6] = [0.3, 0.15, 0.05, 0.02, 0.02, 0.02];

/// Halvings that find the crease on an edge: to a thousandth of it.
const HALVINGS: usize = 10;

pub(super) fn follow(moved: &mut Moved<'_>) {
    let mut follower: Option<Follower> = None;
    for kept in KEPT {
        let onto = follower.as_ref().map_or(&[][..], |f| &f.beside);
        let steps = steps(moved, onto);
        if steps.is_empty() {
            return;
        }
        let follower = follower.get_or_insert_with(|| Follower::new(moved));
        for step in steps {
            // An end of the edge may have moved since the crease was found on it.
            if !follower.is_onto(step.vertex) && !follower.is_onto(step.other) {
                follower.take(moved, &step, kept);
            }
        }
    }
}

/// Which vertices are on a crease.
struct Follower {
    /// Where a vertex on a crease was before.
    beside: Vec<Option<(DVec3, Foot)>>,
    /// Each vertex with each triangle at it, sorted.
    faces: Vec<(u32, u32)>,
}

impl Follower {
    fn new(moved: &Moved<'_>) -> Self {
        let all = moved.mesh.triangles.iter().zip(0..);
        let mut faces: Vec<(u32, u32)> = all.flat_map(|(t, f)| t.map(|v| (v, f))).collect();
        faces.sort_unstable();
        Self { beside: vec![None; moved.places.len()], faces }
    }

    fn is_onto(&self, vertex: u32) -> bool {
        self.beside[vertex as usize].is_some()
    }

    fn around(&self, vertex: u32) -> impl Iterator<Item = u32> {
        let from = self.faces.partition_point(|(w, _)| *w < vertex);
        let own = self.faces[from..].iter().take_while(move |(w, _)| *w == vertex);
        own.map(|(_, f)| *f)
    }

    /// Takes a step where the triangles around keep enough of their areas. Where one would lie in
    /// the crease with all its corners, one of the others steps back instead.
    fn take(&mut self, moved: &mut Moved<'_>, step: &Step, kept: f64) {
        let i = step.vertex as usize;
        let before: Vec<f64> = self.around(step.vertex).map(|f| moved.facing(f).0).collect();
        let was = (moved.places[i], moved.feet[i]);
        (moved.places[i], moved.feet[i]) = (step.place, step.foot);
        let narrow: Vec<u32> = self
            .around(step.vertex)
            .zip(&before)
            .filter(|(f, before)| moved.facing(*f).0 <= kept * **before)
            .map(|(f, _)| f)
            .collect();
        if narrow.is_empty() || self.step_back(moved, step.vertex, &narrow, kept) {
            self.beside[i] = Some(was);
        } else {
            (moved.places[i], moved.feet[i]) = was;
        }
    }

    /// A place for a vertex amid those around it.
    fn amid(&self, moved: &Moved<'_>, vertex: u32) -> (DVec3, Foot) {
        let corners = || self.around(vertex).flat_map(|f| moved.mesh.triangles[f as usize]);
        let others = || corners().filter(|v| *v != vertex);
        let sum: DVec3 = others().map(|v| moved.places[v as usize]).sum();
        moved.level.nearest(sum / others().count() as f64)
    }

    /// Has a vertex that all of the `narrow` triangles have in common step back from the crease.
    fn step_back(&mut self, moved: &mut Moved<'_>, vertex: u32, narrow: &[u32], kept: f64) -> bool {
        for v in moved.mesh.triangles[narrow[0] as usize] {
            let shared = |f: &u32| moved.mesh.triangles[*f as usize].contains(&v);
            if v == vertex || !narrow.iter().all(shared) {
                continue;
            }
            let back = self.beside[v as usize].unwrap_or_else(|| self.amid(moved, v));
            let i = v as usize;
            let on = (moved.places[i], moved.feet[i]);
            (moved.places[i], moved.feet[i]) = back;
            let sound = |f: u32| moved.facing(f).0 > kept * moved.facing(f).1 * KEPT[0];
            let on_level = moved.level.is_on(&back.1);
            if on_level && self.around(v).chain(self.around(vertex)).all(sound) {
                self.beside[i] = None;
                return true;
            }
            (moved.places[i], moved.feet[i]) = on;
        }
        false
    }
}

/// A way for a vertex onto the crease that an edge from it bridges.
struct Step {
    far: f64,
    vertex: u32,
    other: u32,
    place: DVec3,
    foot: Foot,
}

/// The steps that vertices could take, the shortest first.
fn steps(moved: &Moved<'_>, beside: &[Option<(DVec3, Foot)>]) -> Vec<Step> {
    let mut steps = Vec::new();
    for [a, b] in creased(moved) {
        let onto = |v: u32| beside.get(v as usize).is_some_and(Option::is_some);
        if onto(a) || onto(b) {
            continue;
        }
        let Some((place, foot)) = crossing(moved, a, b) else { continue };
        for [vertex, other] in [[a, b], [b, a]] {
            let far = moved.places[vertex as usize].distance(place);
            steps.push(Step { far, vertex, other, place, foot });
        }
    }
    steps.sort_by(|s, t| {
        s.far.total_cmp(&t.far).then((s.vertex, s.other).cmp(&(t.vertex, t.other)))
    });
    steps
}

/// The edges with a crease between their ends.
fn creased(moved: &Moved<'_>) -> Vec<[u32; 2]> {
    let mut found = Vec::new();
    for t in &moved.mesh.triangles {
        for k in 0..3 {
            let ends = [t[k], t[(k + 1) % 3]];
            let [p, q] = ends.map(|v| moved.places[v as usize]);
            let [m, n] = ends.map(|v| moved.feet[v as usize].away);
            if m.dot(n) < KINK && (q - p).dot(n - m) < 0.0 {
                found.push([ends[0].min(ends[1]), ends[0].max(ends[1])]);
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// The place on the crease that the edge bridges.
fn crossing(moved: &Moved<'_>, a: u32, b: u32) -> Option<(DVec3, Foot)> {
    let level = moved.level;
    let [p, q] = [a, b].map(|v| moved.places[v as usize]);
    let [from, to] = [a, b].map(|v| moved.feet[v as usize].away);
    let at = |share: f64| level.foot(p.lerp(q, share));
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let away = at(middle).away;
        if away.dot(from) > away.dot(to) { low = middle } else { high = middle }
    }
    let sides = [at(low), at(high)];
    if sides[0].gap - level.distance < BRIDGED || sides[0].away.dot(sides[1].away) > KINK {
        return None;
    }
    down(moved, p.lerp(q, 0.5 * (low + high)), sides)
}

/// From a place between two sides, straight down to where both are at the distance.
fn down(moved: &Moved<'_>, place: DVec3, sides: [Foot; 2]) -> Option<(DVec3, Foot)> {
    let [m, n] = sides.map(|s| s.away);
    let cosine = m.dot(n);
    let [x, y] = sides.map(|s| moved.level.distance - s.gap);
    let square = 1.0 - cosine * cosine;
    let step = m * ((x - y * cosine) / square) + n * ((y - x * cosine) / square);
    let (place, mut foot) = moved.level.nearest(place + step);
    foot.away = (m + n).normalize_or(foot.away);
    moved.level.is_on(&foot).then_some((place, foot))
}
