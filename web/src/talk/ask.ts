// What the page asks by HTTP. Every failure comes out as a `Troubled` with words for a person.
import type { AskSizes, NewJob, OneSize, Papers, ScanRead, Shelf, TabletTold, Together, Trouble, Written } from "../wire";
import { readMesh, type Mesh } from "./mesh_bytes";
import { readPiece, type Piece } from "./piece_bytes";

/** Something went wrong, in words for a person. */
export class Troubled extends Error {
  constructor(readonly trouble: Trouble) {
    super(trouble.message);
  }
}

/** The trouble in whatever was thrown; null message where the program did not answer at all. */
export function troubleOf(thrown: unknown, unreachable: string): Trouble {
  if (thrown instanceof Troubled) return thrown.trouble;
  return { message: unreachable, hint: null, entries: [], own: true };
}

const inPath = encodeURIComponent;

export const shelf = () => json<Shelf>("/api/jobs");
export const demo = () => json<{ job: string }>("/api/jobs/demo", { method: "POST" });
export const newJob = (given: NewJob) => json<{ job: string }>("/api/jobs", posted(given));
export const copyJob = (job: string, copy: string) =>
  json<{ job: string }>(`/api/jobs/${inPath(job)}/copy`, posted({ job: copy }));
export const papers = (job: string) => json<Papers>(`/api/jobs/${inPath(job)}/papers`);

export const switchTablet = (on: boolean) => json<TabletTold>("/api/tablet", posted({ on }));

/** Null on a tablet: it switches nothing. */
export async function askTablet(): Promise<TabletTold | null> {
  const answer = await fetch("/api/tablet", { cache: "no-cache" });
  return answer.status === 404 ? null : told<TabletTold>(answer);
}

export const scanMesh = (scan: string) => mesh(`/api/scans/${inPath(scan)}/mesh`);
export const jobMesh = (job: string, which: "read" | "stood") =>
  mesh(`/api/jobs/${inPath(job)}/mesh/${which}`);

/** Where a paper lies; with `keep` to be downloaded. */
export function paperAddress(job: string, file: string, keep: boolean): string {
  const path = file.split("/").map(inPath).join("/");
  return `/api/jobs/${inPath(job)}/papers/${path}${keep ? "?keep" : ""}`;
}

const sizes = (job: string, what = "") => `/api/jobs/${inPath(job)}/sizes${what}`;

export const askSizes = (job: string, wanted: AskSizes) => told<null>(fetch(sizes(job), posted(wanted)));
export const stopSizes = (job: string) => told<null>(fetch(sizes(job, "/stop"), { method: "POST" }));
export const writeSizes = (job: string) => json<Written>(sizes(job, "/write"), { method: "POST" });
export const together = (job: string) => json<Together>(sizes(job));
export const sizeReport = (job: string, name: string) => json<OneSize>(sizes(job, `/report/${inPath(name)}`));
export const sizeMesh = (job: string, name: string) => mesh(sizes(job, `/last/${inPath(name)}`));
export const sizePiece = async (job: string, name: string): Promise<Piece> =>
  readPiece(await bytes(sizes(job, `/piece/${inPath(name)}`)));

export function sizeFileAddress(job: string, file: string, keep: boolean): string {
  return `${sizes(job, "/files/")}${inPath(file)}${keep ? "?keep" : ""}`;
}

/** Sends a scan. `fetch` cannot tell how much has gone up, so the older way it is. */
export function sendScan(file: File, progress: (part: number) => void): Promise<ScanRead> {
  return new Promise((resolve, reject) => {
    const ask = new XMLHttpRequest();
    ask.open("POST", `/api/scans?file=${inPath(file.name)}`);
    ask.responseType = "json";
    ask.upload.onprogress = (e) => progress(e.lengthComputable ? e.loaded / e.total : 0);
    ask.onerror = () => reject(new Error("no answer"));
    ask.onload = () => {
      if (ask.status < 300) resolve(ask.response as ScanRead);
      else reject(said(ask.response, ask.status));
    };
    ask.send(file);
  });
}

const mesh = async (address: string): Promise<Mesh> => readMesh(await bytes(address));

async function bytes(address: string): Promise<ArrayBuffer> {
  const answer = await fetch(address, { cache: "no-cache" });
  if (!answer.ok) throw said(await answer.json().catch(() => null), answer.status);
  return answer.arrayBuffer();
}

async function json<T>(address: string, init?: RequestInit): Promise<T> {
  return told<T>(fetch(address, { cache: "no-cache", ...init }));
}

async function told<T>(asked: Response | Promise<Response>): Promise<T> {
  const answer = await asked;
  const body: unknown = await answer.json().catch(() => null);
  if (!answer.ok) throw said(body, answer.status);
  return body as T;
}

function posted(body: unknown): RequestInit {
  return {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  };
}

function said(body: unknown, status: number): Error {
  const trouble = body as Partial<Trouble> | null;
  if (typeof trouble?.message !== "string") return new Error(`status ${status}`);
  return new Troubled({ message: trouble.message, hint: trouble.hint ?? null, entries: trouble.entries ?? [] });
}
