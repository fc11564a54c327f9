// What the page and the program say to each other of the sizes of the range; see `wire.ts`.
import type { DrawnItem, LineTold, Notice, Paper, ReportTold, Trouble, Vec2 } from "./wire";

// ---------------------------------------------------------------- asked for by HTTP

/** A run of sizes that is wanted. */
export interface AskSizes {
  from: string;
  to: string;
  halves: boolean;
  /** None stands for the fitting of the last itself. */
  fittings: string[];
  feet: Foot[];
}

export type Foot = "left" | "right";

export interface Together {
  /** Of which run: as in `SizesTold`. */
  count: number;
  /** One for each foot and fitting. */
  tables: GradeTable[];
  /** One for each foot; the largest piece first. */
  nests: { foot: Foot; bounds: { low: Vec2; high: Vec2 }; pieces: { name: string; drawing: DrawnItem[] }[] }[];
  verdicts: { name: string; failed: number; open: number }[];
}

export interface GradeTable {
  foot: Foot;
  fitting: string | null;
  sizes: string[];
  rows: GradeRow[];
}

export interface GradeRow {
  name: string;
  unit: string;
  usual_step: number | null;
  /** One a size; `step` over the size before, `held` says why it does not step as usual. */
  values: { value: number; step: number | null; held: string | null }[];
}

export interface OneSize {
  report: ReportTold;
  warnings: Notice[];
  lines: LineTold[];
  ground: number;
}

export interface Written {
  folder: string;
  files: Paper[];
}

// ---------------------------------------------------------------- told by the program, over the socket

/** The sizes of the range: what there is to choose from, how far they are, and what there is. */
export interface SizesTold {
  tell: "sizes";
  system: string;
  /** The size of the last. */
  own: string;
  /** Every size that a run through it may have. */
  whole: string[];
  /** The same with half sizes; empty where the system has none. */
  halves: string[];
  usual: { from: string; to: string };
  /** From the narrowest to the widest; empty where the system names none. */
  fittings: string[];
  /** That of the last, where it was said. */
  fitting: string | null;
  asked: AskSizes | null;
  /** Null where nothing is being derived; `of` is 0 as long as the job itself is worked out. */
  doing: { done: number; of: number } | null;
  /** Stale where the job was changed since. */
  made: { count: number; stale: boolean; pieces: SizePiece[] } | null;
  /** Why none could be derived. */
  trouble: Trouble | null;
  /** Someone stopped it before it was through. */
  stopped: boolean;
}

export interface SizePiece {
  /** How the names of its files begin, such as `EU-36-right`. */
  name: string;
  size: string;
  fitting: string | null;
  foot: Foot;
  /** Why it could not be derived. */
  trouble: Trouble | null;
}
