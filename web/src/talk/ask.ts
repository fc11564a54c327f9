// What the page asks by HTTP. Every failure comes out as a `Troubled` with words for a person.
import type { NewJob, Papers, ScanRead, Shelf, TabletTold, Trouble } from "../wire";
import { readMesh, type Mesh } from "./mesh_bytes";

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

async function mesh(address: string): Promise<Mesh> {
  const answer = await fetch(address, { cache: "no-cache" });
  if (!answer.ok) throw said(await answer.json().catch(() => null), answer.status);
  return readMesh(await answer.arrayBuffer());
}

async function json<T>(address: string, init?: RequestInit): Promise<T> {
  return told<T>(await fetch(address, { cache: "no-cache", ...init }));
}

async function told<T>(answer: Response): Promise<T> {
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
