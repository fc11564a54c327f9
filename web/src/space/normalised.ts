// A mesh in unknown units, brought to the size of a last so that a camera can look at it.
import type { Mesh } from "../talk/mesh_bytes";

/** Long enough to fill the picture, mm. */
const LONG = 270;

export function normalised(mesh: Mesh): Mesh {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  mesh.places.forEach((value, i) => {
    low[i % 3] = Math.min(low[i % 3], value);
    high[i % 3] = Math.max(high[i % 3], value);
  });
  const longest = Math.max(...[0, 1, 2].map((axis) => high[axis] - low[axis]));
  const by = longest > 0 ? LONG / longest : 1;
  const places = mesh.places.map((value, i) => (value - (low[i % 3] + high[i % 3]) / 2) * by);
  return { places, corners: mesh.corners };
}
