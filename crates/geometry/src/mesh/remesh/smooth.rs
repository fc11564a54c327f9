//! Takes the roughness of a scan out of even triangles: it would lengthen every line on them.

use std::f64::consts::TAU;

use glam::DVec3;

use super::super::TriMesh;

/// Steps of shrinking and swelling again: waves of four edges then keep a twentieth, waves of
/// ten edges nineteen twentieths.
const ROUNDS: usize = 30;

/// Share of the way to the middle of its neighbours by which a vertex moves at a time.
const SHRINK: f64 = 0.5;

/// The measure of a wave, after Taubin, that is neither shrunk nor swollen: one of 22 edges. A
/// surface that bends over many more edges then keeps its place within a few thousandths.
const KEPT: f64 = 0.02;

/// A vertex never moves further than this, mm: what roughness a scan has is hardly more, what
/// form there is in a rounded edge is.
const MOST: f64 = 0.05;

/// The shortest wave that is smoothed at the very end of a line, mm, and by how much it grows with
/// the distance from there: a line that ends on a rounded edge bends with it.
const AT_END: (f64, f64) = (2.0, 0.8);

/// Rounds of moving inner vertices after lines that moved along the surface.
const FOLLOW: usize = 2;

/// The surface without its roughness: `lines`, one after another, become the smoothest curves
/// near them, and then the surface is smoothed along its
/// normals by a twentieth of a millimetre at most (G. Taubin, "A signal processing
/// approach to fair surface design", 1995), the boundary staying where its lines are.
///
/// Lines are chains of vertices; their ends stay, so a line that ends on another comes after it.
/// Waves of a line keep half their height at the length `wave`, mm, and lose it with the
/// fourth power of the length below; near its ends only shorter ones. Vertices and triangles keep their numbers.
pub fn smooth(mesh: &TriMesh, lines: &[Vec<u32>], wave: f64) -> TriMesh {
    let mut smooth = mesh.clone();
    for line in lines {
        let places: Vec<DVec3> = line.iter().map(|v| smooth.positions[*v as usize]).collect();
        for (v, place) in line.iter().zip(smooth_line(&places, wave)) {
            smooth.positions[*v as usize] = place;
        }
    }
    let around = Around::new(mesh);
    let n = mesh.positions.len();
    // Vertices beside a line that moved follow it, so that no triangle is squeezed.
    let mut moves: Vec<DVec3> = (0..n).map(|v| smooth.positions[v] - mesh.positions[v]).collect();
    let mut on_line = vec![false; n];
    lines.iter().flatten().for_each(|v| on_line[*v as usize] = true);
    for _ in 0..FOLLOW {
        let before = moves.clone();
        for v in (0..n).filter(|v| !on_line[*v] && !around.rim[*v]) {
            moves[v] = around.mean(v, &before);
        }
    }
    for v in 0..n {
        smooth.positions[v] = mesh.positions[v] + moves[v];
    }
    let rough = smooth.positions.clone();
    let normals = smooth.vertex_normals();
    let swell = 1.0 / (KEPT - 1.0 / SHRINK);
    for _ in 0..ROUNDS {
        for share in [SHRINK, swell] {
            let before = smooth.positions.clone();
            for v in (0..n).filter(|v| !around.rim[*v] && around.count(*v) > 0) {
                let step = (around.mean(v, &before) - before[v]).dot(normals[v]);
                smooth.positions[v] = before[v] + normals[v] * (step * share);
            }
        }
    }
    for (place, old) in smooth.positions.iter_mut().zip(rough) {
        let far = *place - old;
        *place = old + far / (1.0 + far.length_squared() / MOST.powi(2)).sqrt();
    }
    smooth
}

/// The neighbours of every vertex.
struct Around {
    starts: Vec<u32>,
    near: Vec<u32>,
    /// Whether a vertex lies on the boundary.
    rim: Vec<bool>,
}

impl Around {
    fn new(mesh: &TriMesh) -> Self {
        let n = mesh.positions.len();
        let mut sides: Vec<(u32, u32)> = mesh
            .triangles
            .iter()
            .flat_map(|t| [0, 1, 2].map(|k| (t[k], t[(k + 1) % 3])))
            .flat_map(|(a, b)| [(a, b), (b, a)])
            .collect();
        sides.sort_unstable();
        let mut rim = vec![false; n];
        // An inner edge is run along by two triangles, each seen from both ends.
        for same in sides.chunk_by(|a, b| a == b).filter(|same| same.len() == 1) {
            rim[same[0].0 as usize] = true;
        }
        sides.dedup();
        let mut starts = vec![0u32; n + 1];
        for (a, _) in &sides {
            starts[*a as usize + 1] += 1;
        }
        for v in 1..=n {
            starts[v] += starts[v - 1];
        }
        Self { starts, near: sides.into_iter().map(|s| s.1).collect(), rim }
    }

    fn count(&self, v: usize) -> usize {
        (self.starts[v + 1] - self.starts[v]) as usize
    }

    fn mean(&self, v: usize, of: &[DVec3]) -> DVec3 {
        let near = &self.near[self.starts[v] as usize..self.starts[v + 1] as usize];
        let sum: DVec3 = near.iter().map(|w| of[*w as usize]).sum();
        sum / near.len().max(1) as f64
    }
}

/// The smoothest line near `points`, with the same ends: minimises the squared distance from the
/// points and `(wave / 2 pi)⁴` times the squared second derivative, both over the length (a
/// smoothing spline in differences; C. Reinsch, "Smoothing by spline functions", 1967).
pub fn smooth_line(points: &[DVec3], wave: f64) -> Vec<DVec3> {
    let n = points.len();
    if n < 3 {
        return points.to_vec();
    }
    let step: Vec<f64> = points.windows(2).map(|w| w[0].distance(w[1]).max(1e-3 * wave)).collect();
    let along: Vec<f64> = step
        .iter()
        .scan(0.0, |sum, h| {
            *sum += h;
            Some(*sum)
        })
        .collect();
    let length = along[n - 2];
    let held = 1e9 * (wave / TAU).powi(4).max(1.0);
    // Rows hold the diagonal and the two entries to its right.
    let mut matrix = vec![[0.0f64; 3]; n];
    let mut right = vec![DVec3::ZERO; n];
    for i in 0..n {
        let share = (if i > 0 { step[i - 1] } else { 0.0 } + step.get(i).unwrap_or(&0.0)) / 2.0;
        let weight = if i == 0 || i == n - 1 { share + held } else { share };
        matrix[i][0] += weight;
        right[i] += points[i] * weight;
    }
    for i in 1..n - 1 {
        let (h, g) = (step[i - 1], step[i]);
        let from_end = along[i - 1].min(length - along[i - 1]);
        let bend = (wave.min(AT_END.0 + AT_END.1 * from_end) / TAU).powi(4);
        let second = [2.0 / (h * (h + g)), -2.0 / (h * g), 2.0 / (g * (h + g))];
        for a in 0..3 {
            for b in a..3 {
                matrix[i - 1 + a][b - a] += bend * (h + g) / 2.0 * second[a] * second[b];
            }
        }
    }
    let mut line = solved(matrix, right);
    (line[0], line[n - 1]) = (points[0], points[n - 1]);
    line
}

/// Solves a symmetric positive definite system with two bands beside the diagonal (L D Lᵀ).
fn solved(mut matrix: Vec<[f64; 3]>, mut right: Vec<DVec3>) -> Vec<DVec3> {
    let n = right.len();
    for i in 0..n {
        let [diagonal, near, far] = matrix[i];
        let here = right[i];
        if i + 1 < n {
            matrix[i + 1][0] -= near * near / diagonal;
            matrix[i + 1][1] -= near * far / diagonal;
            right[i + 1] -= here * (near / diagonal);
        }
        if i + 2 < n {
            matrix[i + 2][0] -= far * far / diagonal;
            right[i + 2] -= here * (far / diagonal);
        }
    }
    for i in (0..n).rev() {
        let [diagonal, near, far] = matrix[i];
        let mut value = right[i];
        if i + 1 < n {
            value -= right[i + 1] * near;
        }
        if i + 2 < n {
            value -= right[i + 2] * far;
        }
        right[i] = value / diagonal;
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wave of `length` mm and 0.1 mm height on an arc of 40 mm radius.
    fn wavy(length: f64) -> Vec<DVec3> {
        (0..200)
            .map(|i| {
                let s = f64::from(i);
                let height = 40.0 + 0.1 * (s / length * TAU).sin();
                let angle = s / 40.0;
                DVec3::new(height * angle.cos(), height * angle.sin(), 0.0)
            })
            .collect()
    }

    fn height_left(length: f64) -> f64 {
        let line = smooth_line(&wavy(length), 10.0);
        let inner = line[40..160].iter().map(|p| p.length());
        let (low, high) = inner.fold((f64::INFINITY, 0.0f64), |(l, h), r| (l.min(r), h.max(r)));
        (high - low) / 0.2
    }

    #[test]
    fn a_line_keeps_long_waves_and_loses_short_ones() {
        assert!((height_left(10.0) - 0.5).abs() < 0.1, "{}", height_left(10.0));
        assert!(height_left(5.0) < 0.08, "{}", height_left(5.0));
        assert!(height_left(40.0) > 0.98, "{}", height_left(40.0));
        let ends = (wavy(5.0), smooth_line(&wavy(5.0), 10.0));
        assert_eq!((ends.0[0], ends.0[199]), (ends.1[0], ends.1[199]));
    }

    #[test]
    fn few_or_equal_points_stay_finite() {
        for n in 0..5 {
            let line = smooth_line(&vec![DVec3::ONE; n], 10.0);
            assert!(line.len() == n && line.iter().all(|p| p.is_finite()));
        }
    }
}
