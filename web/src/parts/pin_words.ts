// What is read out for marks and handles.
import type { Vec3 } from "../wire";
import { tongue } from "../words/tongue.svelte";

export const placeSaid = (at: Vec3): string => at.map((value) => tongue.number(value)).join(" · ");

export const markSaid = (name: string, by: "found" | "user", at: Vec3): string =>
  `${name}, ${by === "user" ? tongue.words.marks.yours : tongue.words.marks.found}: ${placeSaid(at)}`;

/** `shown` is what is written beside the handle: who speaks to the page says what is seen. */
export const handleSaid = (name: string, shown: string, where: string): string =>
  `${name}: ${shown} mm. ${where}`;
