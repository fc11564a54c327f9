// Small sums with places, in f64.
import type { Vec2, Vec3 } from "../wire";

export const add = (a: Vec3, b: Vec3, times = 1): Vec3 => [
  a[0] + b[0] * times,
  a[1] + b[1] * times,
  a[2] + b[2] * times,
];
export const sub = (a: Vec3, b: Vec3): Vec3 => add(a, b, -1);
export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const size = (a: Vec3): number => Math.hypot(a[0], a[1], a[2]);
export const scaled = (a: Vec3, by: number): Vec3 => [a[0] * by, a[1] * by, a[2] * by];

/** The same way with length 1, or null where there is none. */
export function unit(a: Vec3): Vec3 | null {
  const length = size(a);
  return length > 1e-9 ? scaled(a, 1 / length) : null;
}

export const add2 = (a: Vec2, b: Vec2, times = 1): Vec2 => [a[0] + b[0] * times, a[1] + b[1] * times];
export const size2 = (a: Vec2): number => Math.hypot(a[0], a[1]);
