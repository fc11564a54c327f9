// Leads to an entry or a mark: to its station, and there to the place where it is decided.
import type { Bench } from "./bench.svelte";
import { route, stationOf } from "./route.svelte";

export function goTo(bench: Bench, key: string): void {
  const station = stationOf(key);
  if (route.place.at === "job" && route.place.station !== station) route.go(bench.job, station);
  if (station === "marks") {
    bench.spot.chosen = key;
    bench.spot.focus = { id: key };
  } else {
    bench.spot.entry = key;
  }
}
