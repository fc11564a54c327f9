// “Show me”: leads from a step of the guide to the place where it is done.
import type { Bench } from "../job/bench.svelte";
import { goTo } from "../job/go_to";
import { route, SHELF_HASH, stationOf } from "../job/route.svelte";
import { demo } from "../talk/ask";
import { guide } from "./guide.svelte";
import type { Leads } from "./steps";

/** Without a job on the bench the demo is opened. */
export async function show(leads: Leads, bench: Bench | null): Promise<void> {
  if (leads.to === "shelf") {
    if (location.hash === SHELF_HASH) return;
    focusOnNextPage();
    location.hash = SHELF_HASH;
  } else if (bench) {
    showIn(bench, leads);
  } else {
    const { job } = await demo();
    focusOnNextPage();
    route.go(job, leads.to === "paper" || leads.to === "sizes" ? leads.to : "key" in leads ? stationOf(leads.key) : "stiffener");
  }
}

/** The guide is drawn anew beside another page, and would lose the focus. */
function focusOnNextPage(): void {
  window.addEventListener("hashchange", () => (guide.wantsFocus = true), { once: true });
}

function showIn(bench: Bench, leads: Leads): void {
  if (leads.to === "key") {
    goTo(bench, leads.key);
  } else if (leads.to === "handle") {
    route.go(bench.job, "stiffener");
    bench.spot.focus = { id: leads.key };
  } else if (leads.to === "checks") {
    route.go(bench.job, "stiffener");
    bench.spot.strain = true;
    document.querySelector<HTMLElement>(".checks li button")?.focus();
  } else if (leads.to === "paper") {
    route.go(bench.job, "paper");
    bench.spot.tiles ??= "A4";
  } else if (leads.to === "sizes") {
    route.go(bench.job, "sizes");
  }
}
