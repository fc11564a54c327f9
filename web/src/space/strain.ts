// The strain of the wall as the eye takes it in: neighbours evened out.
import type { Wall } from "../talk/piece_bytes";

/** What was evened out already: both views ask for it, one of them whenever it is shifted. */
const KNOWN = new WeakMap<Wall, Float32Array>();

/** Percent at each vertex: the mean of the triangles round it. */
export function vertexStrain(wall: Wall): Float32Array {
  const known = KNOWN.get(wall) ?? evened(wall);
  KNOWN.set(wall, known);
  return known;
}

function evened({ onLast, strain, corners }: Wall): Float32Array {
  const sums = new Float32Array(onLast.length / 3);
  const counts = new Uint16Array(onLast.length / 3);
  corners.forEach((v, i) => {
    sums[v] += strain[Math.floor(i / 3)];
    counts[v] += 1;
  });
  return sums.map((sum, v) => sum / Math.max(counts[v], 1));
}
