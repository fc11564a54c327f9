// The same point on the last and on the flat piece: same triangle, same weights of its corners.
import type { Wall } from "../talk/piece_bytes";
import type { Vec2, Vec3 } from "../wire";
import { dot, sub } from "./vec";

/** Width of a square of the index, mm: a few triangles fall into each. */
const SQUARE = 4;

export class Twins {
  #squares = new Map<number, number[]>();

  constructor(private readonly wall: Wall) {
    const { flat, corners } = wall;
    for (let t = 0; t < corners.length / 3; t++) {
      const at = [0, 1, 2].map((k) => corners[3 * t + k]);
      const xs = at.map((v) => Math.floor(flat[2 * v] / SQUARE));
      const ys = at.map((v) => Math.floor(flat[2 * v + 1] / SQUARE));
      for (let x = Math.min(...xs); x <= Math.max(...xs); x++) {
        for (let y = Math.min(...ys); y <= Math.max(...ys); y++) {
          const list = this.#squares.get(squareKey(x, y));
          if (list) list.push(t);
          else this.#squares.set(squareKey(x, y), [t]);
        }
      }
    }
  }

  /** Where on the last a point of the flat piece lies; null beside the wall. */
  onLast(point: Vec2): Vec3 | null {
    const x = Math.floor(point[0] / SQUARE);
    const y = Math.floor(point[1] / SQUARE);
    for (const t of this.#squares.get(squareKey(x, y)) ?? []) {
      const weights = weights2(...this.#flatCorners(t), point);
      if (weights.every((w) => w >= -1e-6)) return this.#weigh(t, weights);
    }
    return null;
  }

  /** Where on the flat piece a point of triangle `t` on the last lies. */
  onFlat(t: number, point: Vec3): Vec2 {
    const { onLast, flat, corners } = this.wall;
    const at = (k: number): Vec3 => {
      const v = corners[3 * t + k];
      return [onLast[3 * v], onLast[3 * v + 1], onLast[3 * v + 2]];
    };
    const weights = weights3(at(0), at(1), at(2), point);
    const sum: Vec2 = [0, 0];
    weights.forEach((w, k) => {
      const v = corners[3 * t + k];
      sum[0] += w * flat[2 * v];
      sum[1] += w * flat[2 * v + 1];
    });
    return sum;
  }

  #flatCorners(t: number): [Vec2, Vec2, Vec2] {
    const { flat, corners } = this.wall;
    const at = (k: number): Vec2 => {
      const v = corners[3 * t + k];
      return [flat[2 * v], flat[2 * v + 1]];
    };
    return [at(0), at(1), at(2)];
  }

  #weigh(t: number, weights: number[]): Vec3 {
    const { onLast, corners } = this.wall;
    const sum: Vec3 = [0, 0, 0];
    weights.forEach((w, k) => {
      const v = corners[3 * t + k];
      for (let axis = 0; axis < 3; axis++) sum[axis] += w * onLast[3 * v + axis];
    });
    return sum;
  }
}

/** One number for a square; pieces stay far below a thousand squares across. */
const squareKey = (x: number, y: number) => (x + 5000) * 10000 + (y + 5000);

/** Barycentric weights of `p` in a flat triangle. */
export function weights2(a: Vec2, b: Vec2, c: Vec2, p: Vec2): [number, number, number] {
  const area = (u: Vec2, v: Vec2, w: Vec2) =>
    (v[0] - u[0]) * (w[1] - u[1]) - (w[0] - u[0]) * (v[1] - u[1]);
  const whole = area(a, b, c);
  return [area(p, b, c) / whole, area(a, p, c) / whole, area(a, b, p) / whole];
}

/** Barycentric weights of the foot of `p` in a triangle in space. */
export function weights3(a: Vec3, b: Vec3, c: Vec3, p: Vec3): [number, number, number] {
  const ab = sub(b, a);
  const ac = sub(c, a);
  const ap = sub(p, a);
  const [d00, d01, d11] = [dot(ab, ab), dot(ab, ac), dot(ac, ac)];
  const [d20, d21] = [dot(ap, ab), dot(ap, ac)];
  const whole = d00 * d11 - d01 * d01;
  const v = (d11 * d20 - d01 * d21) / whole;
  const w = (d00 * d21 - d01 * d20) / whole;
  return [1 - v - w, v, w];
}
