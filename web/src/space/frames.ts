// From the last frame back to the file's coordinates: marks are kept in the latter.
import type { Vec3 } from "../wire";

/** The place in the file of a place in the last frame; `rows` is `last_from_file`. */
export function fileFromLast(rows: number[][], inLast: Vec3): Vec3 {
  const [a, b, c] = rows;
  const p = [inLast[0] - a[3], inLast[1] - b[3], inLast[2] - c[3]];
  // Cramer's rule by cofactors: 3 x 3 is too small for anything cleverer.
  const cross = (u: number[], v: number[]) => [
    u[1] * v[2] - u[2] * v[1],
    u[2] * v[0] - u[0] * v[2],
    u[0] * v[1] - u[1] * v[0],
  ];
  const bc = cross(b, c);
  const ca = cross(c, a);
  const ab = cross(a, b);
  const det = a[0] * bc[0] + a[1] * bc[1] + a[2] * bc[2];
  const at = (i: number) => (p[0] * bc[i] + p[1] * ca[i] + p[2] * ab[i]) / det;
  return [at(0), at(1), at(2)];
}
