// Where the page is, as its address says: `#job/NAME/STATION`, `#shelf`, or nothing yet.

export const STATIONS = ["last", "marks", "stiffener", "sizes", "paper"] as const;
export type Station = (typeof STATIONS)[number];

export type Place = { at: "start" } | { at: "shelf" } | { at: "job"; job: string; station: Station };

class Route {
  place: Place = $state.raw(read(location.hash));

  constructor() {
    window.addEventListener("hashchange", () => (this.place = read(location.hash)));
  }

  go(job: string, station: Station = "stiffener"): void {
    location.hash = jobHash(job, station);
  }

  /** As `go`, in place of the address without a job, so that Back leaves the page. */
  startAt(job: string): void {
    location.replace(jobHash(job, "stiffener"));
  }
}

export const SHELF_HASH = "#shelf";

export const jobHash = (job: string, station: Station) => `#job/${encodeURIComponent(job)}/${station}`;

/** The station on which an entry or a mark is decided. */
export function stationOf(key: string): Station {
  if (key.startsWith("marks.")) return "marks";
  if (key.startsWith("range.") || key === "last.fitting") return "sizes";
  if (key.startsWith("last.") || key === "name" || key === "note") return "last";
  return "stiffener";
}

function read(hash: string): Place {
  const [kind, job, station] = hash.slice(1).split("/");
  if (kind === "job" && job) {
    const known = STATIONS.find((s) => s === station) ?? "stiffener";
    return { at: "job", job: decoded(job), station: known };
  }
  return { at: kind === "shelf" ? "shelf" : "start" };
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

export const route = new Route();
