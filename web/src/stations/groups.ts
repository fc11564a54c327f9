// The order in which the stiffener's entries are asked, as a person at the bench comes to them.
import type { Words } from "../words/en";

type Heading = Exclude<keyof Words["stiffener"], "removeRow">;

export interface Group {
  heading: Heading;
  keys: string[];
}

export const GROUPS: Group[] = [
  {
    heading: "ask",
    keys: [
      "stiffener.construction",
      "stiffener.kind",
      "stiffener.lining_thickness",
      "stiffener.insole_on_last",
      "stiffener.insole_thickness",
      "wearer.ankle_medial",
      "wearer.ankle_lateral",
    ],
  },
  {
    heading: "edge",
    keys: [
      "stiffener.back_height",
      "stiffener.settling",
      "stiffener.medial.ceiling",
      "stiffener.lateral.ceiling",
      "wearer.ankle_drop",
      "wearer.feather_height",
    ],
  },
  {
    heading: "inside",
    keys: ["stiffener.medial.length", "stiffener.medial.behind_joint", "stiffener.medial.end_height"],
  },
  {
    heading: "outside",
    keys: ["stiffener.lateral.length", "stiffener.lateral.behind_joint", "stiffener.lateral.end_height"],
  },
  {
    heading: "sheet",
    keys: [
      "stiffener.thickness",
      "stiffener.margin",
      "stiffener.face",
      "stiffener.wall_cuts",
      "stiffener.wall_cut_depth",
    ],
  },
  { heading: "topline", keys: ["topline.back", "topline.heights", "stiffener.below_topline"] },
];

const GROUPED = new Set(GROUPS.flatMap((group) => group.keys));

/** Entries of the station that no group names: a newer program may ask more than this page knows. */
export function ungrouped(keys: Iterable<string>): string[] {
  return [...keys].filter((key) => /^(stiffener|wearer|topline)\./.test(key) && !GROUPED.has(key));
}
