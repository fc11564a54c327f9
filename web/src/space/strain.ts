// The strain of the wall as the eye takes it in: neighbours evened out.
import type { Wall } from "../talk/piece_bytes";

/** Percent at each vertex: the mean of the triangles round it. */
export function vertexStrain({ onLast, strain, corners }: Wall): Float32Array {
  const sums = new Float32Array(onLast.length / 3);
  const counts = new Uint16Array(onLast.length / 3);
  corners.forEach((v, i) => {
    sums[v] += strain[Math.floor(i / 3)];
    counts[v] += 1;
  });
  return sums.map((sum, v) => sum / Math.max(counts[v], 1));
}
