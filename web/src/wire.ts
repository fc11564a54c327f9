// What the page and the program say to each other. Lengths are millimetres, places lie in the last
// frame (origin at the seat, x to the toe, y to the wearer's left, z up) unless another is named.

import type { SizesTold } from "./wire_sizes";

export type * from "./wire_sizes";

// ---------------------------------------------------------------- asked for by HTTP
//
// GET  /api/jobs                          Shelf
// POST /api/jobs/demo                     { job: string }      makes the invented demo, or finds it
// POST /api/scans?file=NAME   (bytes)     ScanRead             reads a scan and keeps it on the table
// GET  /api/scans/ID/mesh                 mesh bytes           as read, in the file's coordinates
// POST /api/jobs              NewJob      { job: string }      makes a job of a scan on the table
// POST /api/jobs/JOB/copy     { job }     { job: string }      duplicates a job
// GET  /api/jobs/JOB/mesh/read            mesh bytes           the scan as read, file coordinates
// GET  /api/jobs/JOB/mesh/stood           mesh bytes           mended and stood, last frame
// GET  /api/jobs/JOB/papers               Papers               what can be had on paper and as files
// GET  /api/jobs/JOB/papers/FILE          the file itself      `?keep` to download instead of open
// POST /api/jobs/JOB/sizes    AskSizes    nothing              begins to derive a run of sizes
// POST /api/jobs/JOB/sizes/stop           nothing              derives no further
// GET  /api/jobs/JOB/sizes                Together             all sizes side by side and over each other
// GET  /api/jobs/JOB/sizes/piece/NAME     piece bytes          one of them, as a piece is told below
// GET  /api/jobs/JOB/sizes/report/NAME    OneSize              its dimensions and checks
// GET  /api/jobs/JOB/sizes/last/NAME      mesh bytes           its last, last frame
// POST /api/jobs/JOB/sizes/write          Written              writes every file into the job's folder
// GET  /api/jobs/JOB/sizes/files/FILE     the file itself      `?keep` to download instead of open
// GET  /api/jobs/JOB/live                 WebSocket, below
// GET  /api/tablet                        TabletTold           404 on a tablet: it switches nothing
// POST /api/tablet            { on }      TabletTold           on, or a new code; or off
//
// What goes wrong is answered with a fitting status and a `Trouble`.

export type Vec2 = [number, number];
export type Vec3 = [number, number, number];

/** What went wrong and what to do about it, for a person. */
export interface Trouble {
  message: string;
  hint: string | null;
  /** The keys of the entries and marks that it speaks of, the nearest to hand first. */
  entries: string[];
  /** Never sent: the page says this itself, in its own language. */
  own?: true;
}

/** The jobs in the workshop folder. */
export interface Shelf {
  /** The folder itself, to be shown. */
  folder: string;
  /** The job opened last, if any. */
  last: string | null;
  jobs: ShelfJob[];
  /** The version of the program. */
  version: string;
}

export interface ShelfJob {
  /** Name of its folder; stands in addresses. */
  job: string;
  /** What the user calls it. */
  name: string;
  size: string;
  /** Milliseconds since 1970 of the last change. */
  changed: number;
  /** Why it cannot be opened, where it cannot. */
  trouble: Trouble | null;
}

export interface ScanRead {
  scan: string;
  file: string;
  triangles: number;
  /** The unit that the file states, where its format does. */
  unit: string | null;
  warnings: Notice[];
}

export interface NewJob {
  scan: string;
  name: string;
  size: string;
  /** As typed; empty for "find it". */
  heel_height: string;
  unit: string | null;
  foot: "left" | "right" | null;
}

export interface Papers {
  files: Paper[];
  /** How the piece is spread over sheets, for each paper. */
  tiles: Tiles[];
}

export interface Paper {
  file: string;
  /** What it is, in a sentence. */
  what: string;
  bytes: number;
}

export interface Tiles {
  file: string;
  paper: string;
  /** In words: `2 sheets of A4, lying on the long side: 1 row, 2 columns`. */
  words: string;
  /** What each sheet shows, in the coordinates of the flat piece. */
  sheets: { name: string; low: Vec2; high: Vec2 }[];
}

/** A tablet at the bench: whether the program answers in the local network, and how to pair one. */
export interface TabletTold {
  on: boolean;
  /** To be opened on the tablet; where there is no network, it leads to this machine alone. */
  address: string | null;
  /** Whether this machine has an address in a network. */
  network: boolean;
  /** Six digits to be entered there; null when the code is spent. */
  code: string | null;
  /** Why there is no code: a device entered it, too many wrong ones were entered, or it is too old. */
  spent: "entered" | "wrong" | "old" | null;
  /** For how many seconds the code is still good. */
  seconds: number;
  /** How many devices entered a code since it was switched on. */
  paired: number;
}

// ---------------------------------------------------------------- said by the page, over the socket

export type Said =
  /** Changes one thing or several that belong together; undone together. */
  | { say: "edit"; id: number; commands: Command[] }
  /** A value as typed. With `keep` it becomes an edit, otherwise it is only understood. */
  | { say: "typed"; id: number; key: string; text: string; keep: boolean }
  /** Lengths as typed, with or without units; only understood, or refused. */
  | { say: "lengths"; id: number; texts: string[] }
  | { say: "undo"; id: number }
  | { say: "redo"; id: number }
  /** A mark is being dragged. `ray` from the eye through the finger, or `to` itself. */
  | { say: "drag"; drag: number; mark: string; ray?: { from: Vec3; along: Vec3 }; to?: Vec3 }
  /** A handle of the edge is being dragged to a value, mm. */
  | { say: "drag"; drag: number; entry: string; value: number }
  /** The finger let go: what was dragged last becomes an edit. */
  | { say: "drop"; id: number; drag: number }
  /** Escape: nothing was dragged. */
  | { say: "leave"; drag: number };

/** An edit: one key of job.toml and its value; null takes the entry away. */
export interface Command {
  set: string;
  to: unknown;
}

// ---------------------------------------------------------------- told by the program, over the socket

/** As text. */
export type Told =
  | State
  | SizesTold
  /** What is being worked on; null when all is done. Shown with the steps that are through. */
  | { tell: "doing"; doing: string | null }
  | { tell: "done"; id: number; words: string | null }
  /** In words, and as a value; for several lengths their millimetres alone. */
  | { tell: "understood"; id: number; value: unknown; words: string | null }
  | { tell: "refused"; id: number; trouble: Trouble }
  /** Where the dragged mark now lies on the surface. Comes before the piece that follows. */
  | { tell: "dragged"; drag: number; at: Vec3 | null; value: number | null; trouble: Trouble | null }
  /** Someone else changed the job (another window, an editor); the state that follows is the new one. */
  | { tell: "elsewhere"; words: string }
  /** The job cannot be worked on at all (its scan is gone, or no last). */
  | { tell: "broken"; trouble: Trouble };

/** Everything but the piece. Sent first with what the job says, and again when it is worked out. */
export interface State {
  tell: "state";
  /** Counts the edits of this run of the program. */
  revision: number;
  job: string;
  name: string;
  note: string;
  undo: string | null;
  redo: string | null;
  entries: Entry[];
  /** Null as long as the scan is not stood, or when it could not be. */
  last: LastTold | null;
  /** Why the last could not be stood or the piece not drawn; what is shown is then the one before. */
  trouble: { trouble: Trouble; step: "last" | "marks" | "stiffener" } | null;
  /** Null until the piece is drawn. */
  report: ReportTold | null;
}

/** One thing that the user can decide. */
export interface Entry {
  /** The key in job.toml, such as `stiffener.back_height`. */
  key: string;
  holds:
    | { kind: "length"; least: number; most: number }
    | { kind: "count"; least: number; most: number }
    | { kind: "one_of"; words: string[] }
    | { kind: "flag" }
    | { kind: "size" }
    | { kind: "line" }
    | { kind: "place" }
    | { kind: "other" };
  /** What the user entered; null where nothing was. */
  entered: unknown;
  /** What counts now: entered, found or by rule. Null where it is not known. */
  counts: unknown;
  /** Why, and how well founded, where it is a number. */
  formula: string | null;
  reason: string | null;
  mark: Founded | null;
}

/** published; published but from memory; common practice; entered by the user; measured here */
export type Founded = "a" | "b" | "c" | "own" | "measured";

export interface LastTold {
  unit: string;
  foot: "left" | "right";
  length: number;
  heel_height: number;
  /** Height of the ground the last stands on, mm (negative). */
  ground: number;
  triangles: number;
  /** Changes when the meshes of the last must be fetched anew. */
  mesh: string;
  /** Rows of the matrix from the file's coordinates to the last frame. */
  last_from_file: number[][];
  /** What was found and how sure that is, 0 to 1. */
  found: { sureness: number; words: string }[];
  /** What was mended, with the places. */
  repairs: { message: string; hint: string; places: Vec3[] }[];
  warnings: Notice[];
  marks: MarkTold[];
  lines: LineTold[];
  measures: { name: string; value: number; unit: string }[];
}

export interface MarkTold {
  /** The key in job.toml: `marks.joint_medial`. */
  key: string;
  at: Vec3;
  by: "found" | "user";
  sureness: number | null;
  /** Why it was found there. */
  words: string | null;
  /** Whether the piece follows it while it is dragged; the others are worked out on letting go. */
  live: boolean;
}

export interface LineTold {
  /** feather_line, centre_back, ground */
  name: string;
  points: Vec3[];
  closed: boolean;
}

export interface Notice {
  place: string;
  message: string;
  hint: string;
  /** The entry or mark at which it is mended, where there is one. */
  entry: string | null;
}

export interface ReportTold {
  size: string;
  foot: string;
  dimensions: {
    part: string;
    name: string;
    value: number;
    unit: string;
    formula: string;
    reason: string;
    mark: Founded;
  }[];
  checks: CheckTold[];
  strain: { mean: number; p95: number; p99: number; area_over_limit: number | null };
  cautions: string[];
  warnings: Notice[];
}

export interface CheckTold {
  name: string;
  value: number;
  unit: string;
  limit: string;
  verdict: "pass" | "unsure" | "fail";
  reason: string;
  mark: Founded;
  place: string;
  /** Where on the last and on the flat piece, where it has a place. */
  at: Vec3 | null;
  flat: Vec2 | null;
  /** The entry that mends it, where one does. */
  entry: string | null;
}

/**
 * The piece. As bytes: u32 length of the JSON (little-endian), the JSON padded with spaces to a
 * multiple of 4, then the wall: u32 n vertices, u32 m triangles, f32 3n on the bare last, f32 2n flat,
 * f32 m strain in percent (positive: must stretch on the last; negative: fullness), u32 3m corners.
 */
export interface PieceTold {
  tell: "piece";
  revision: number;
  /** The drag it belongs to; 0 where it runs ahead of an edit; null for the piece as it is cut. */
  drag: number | null;
  /** Limits of the material in percent: stretch, and compression (as a positive number). */
  limits: { material: string; stretch: number; compress: number } | null;
  /** Along the wall on the last, from the right end over the back to the left. */
  edge: Vec3[];
  /** What the edge may not pass: each a line on the last, only where it acts. */
  ceilings: { name: string; words: string; lines: Vec3[][] }[];
  handles: Handle[];
  /** What is cut, marked and written on the flat piece; y up, seat at the origin. */
  drawing: DrawnItem[];
  bounds: { low: Vec2; high: Vec2 };
}

/** A point of the top edge that can be dragged: it stands for one number of the job. */
export interface Handle {
  /** `stiffener.back_height`, `stiffener.medial.end_height`, … */
  key: string;
  value: number;
  least: number;
  most: number;
  at: Vec3;
  /** The way in which the number grows, on the last and on the flat piece; of length 1. */
  grows: Vec3;
  flat: Vec2;
  flat_grows: Vec2;
}

export type DrawnItem =
  /** SVG path data in mm with y up; `cut` is cut, `mark` is marked. */
  | { path: string; layer: "cut" | "mark"; stroke: "solid" | "dashed" | "chain" }
  | { text: string; at: Vec2; height: number; angle: number; anchor: "start" | "middle" | "end" };

/*
 * Mesh bytes: u32 n vertices, u32 m triangles, f64 3 origin (added to every place), f32 3n places,
 * u32 3m corners; little-endian.
 */
