// What is written and read out for marks and handles.
import type { Vec3 } from "../wire";
import { tongue } from "../words/tongue.svelte";

/** A place as the ways from the seat to it, mm: "185.1 forward, 39.4 left, 22.3 down". */
export function placeSaid(at: Vec3): string {
  const { ways, origin } = tongue.words.marks;
  const steps = at.map((value, axis) => ({ far: Math.abs(value), way: ways[axis][value < 0 ? 1 : 0] }));
  const unbroken = (said: string) => said.replaceAll(" ", "\u00a0");
  const said = steps.filter(({ far }) => far >= 0.05).map(({ far, way }) => unbroken(`${tongue.number(far)} ${way}`));
  return said.join(", ") || origin;
}

export const markSaid = (name: string, by: "found" | "user", at: Vec3): string =>
  `${name}, ${by === "user" ? tongue.words.marks.yours : tongue.words.marks.found}: ${placeSaid(at)}`;

/** What is written beside a handle. */
export const handleShown = (key: string, value: number): string =>
  `${tongue.handle(key)} ${tongue.number(value)}`;

/** `shown` is what is written beside the handle: who speaks to the page says what is seen. */
export const handleSaid = (name: string, shown: string, where: string): string =>
  `${name}: ${shown} mm. ${where}`;
