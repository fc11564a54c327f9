//! Moving vertices along the surface and along curves until they lie evenly.

use glam::DVec3;

use super::chains::Bound;
use super::mesher::Mesher;

/// Shares of a move that are tried until no triangle turns over.
const TRIED: [f64; 3] = [0.9, 0.45, 0.15];

impl Mesher<'_> {
    /// Moves each vertex once: along the surface towards the middle of its triangles, along its
    /// curve to between its neighbours.
    pub(super) fn relax(&mut self) {
        for v in 0..self.at.len() as u32 {
            if self.around[v as usize].is_empty() {
                continue;
            }
            match self.bound[v as usize] {
                Bound::Free => self.relax_free(v),
                Bound::On { curve, along } => self.slide(v, curve, along),
                Bound::Corner => {}
            }
        }
    }

    fn relax_free(&mut self, v: u32) {
        let (mut sum, mut weights) = (DVec3::ZERO, 0.0);
        for face in &self.around[v as usize] {
            let t = self.triangles[*face as usize];
            let [a, b, c] = t.map(|w| self.at[w as usize]);
            let size: f64 = t.iter().map(|w| self.size[*w as usize]).sum::<f64>() / 3.0;
            let weight = (b - a).cross(c - a).length() / size.powi(2);
            sum += (a + b + c) / 3.0 * weight;
            weights += weight;
        }
        if weights <= 0.0 {
            return;
        }
        let (here, normal) = (self.at[v as usize], self.normal[v as usize]);
        let step = sum / weights - here;
        let step = step - normal * step.dot(normal);
        for share in TRIED {
            let (place, normal) = self.ground.nearest(here + step * share);
            if self.moved(v, place, normal) {
                return;
            }
        }
    }

    fn slide(&mut self, v: u32, curve: u32, along: f64) {
        let near = self.curve_neighbours(v, curve);
        let [one, other] = near[..] else { return };
        let (s0, s1) = (self.along(one, curve, v), self.along(other, curve, v));
        let own = self.size[v as usize];
        let (h0, h1) = (self.size[one as usize] + own, self.size[other as usize] + own);
        let wanted = s0 + (s1 - s0) * h0 / (h0 + h1);
        for share in TRIED {
            let to = along + (wanted - along) * share;
            let place = self.curves[curve as usize].at(to);
            let normal = self.ground.nearest(place).1;
            if self.moved(v, place, normal) {
                self.bound[v as usize] = Bound::On { curve, along: to };
                return;
            }
        }
    }

    /// Moves a vertex unless a triangle turns over.
    fn moved(&mut self, v: u32, place: DVec3, normal: DVec3) -> bool {
        let i = v as usize;
        let old = (self.at[i], self.normal[i]);
        (self.at[i], self.normal[i]) = (place, normal);
        if self.around[i].iter().all(|&f| self.upright(self.triangles[f as usize])) {
            self.size[i] = self.field.at(place);
            return true;
        }
        (self.at[i], self.normal[i]) = old;
        false
    }
}
