// The steps of the guide in their order: the picture of each, and where “show me” leads.
import type { Words } from "../words/en";

export type StepName = keyof Words["guide"]["steps"];

/** Where a step is done: on the shelf, or at a station of a job, there at an entry or a mark. */
export type Leads =
  | { to: "shelf" }
  /** To the field of an entry, or to a mark. */
  | { to: "key"; key: string }
  /** To the handle of an entry on the last. */
  | { to: "handle"; key: string }
  | { to: "checks" }
  | { to: "paper" }
  | { to: "sizes" };

export const STEPS: [StepName, Leads | null][] = [
  ["scan", null],
  ["drop", { to: "shelf" }],
  ["stand", { to: "key", key: "last.heel_height" }],
  ["marks", { to: "key", key: "marks.ankle_lateral" }],
  ["asked", { to: "key", key: "stiffener.construction" }],
  ["topline", { to: "key", key: "topline.back" }],
  ["wings", { to: "handle", key: "stiffener.lateral.behind_joint" }],
  ["strain", { to: "checks" }],
  ["print", { to: "paper" }],
  ["measure", { to: "key", key: "stiffener.back_height" }],
  ["sizes", { to: "sizes" }],
];

/** The file of a step's picture, in the folder of a language: `04-marks.webp`. */
export function pictureFile(name: StepName): string {
  const n = STEPS.findIndex(([step]) => step === name) + 1;
  return `${String(n).padStart(2, "0")}-${name}.webp`;
}
