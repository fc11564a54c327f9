// What the eye is on: the mark chosen, the place ringed, the point under the finger.
import type { Vec2, Vec3 } from "../wire";

/** A place to be ringed on the last and on the flat piece. */
export interface Ring {
  at: Vec3 | null;
  flat: Vec2 | null;
  name: string;
}

export class Spot {
  /** The mark or handle chosen, by its key. */
  chosen: string | null = $state(null);
  /** The pin that is to get the keys; a new object each time. */
  focus: { id: string } | null = $state.raw(null);
  /** The mark that the next tap on the last places. */
  placing: string | null = $state(null);
  /** The entry to be shown and lit. */
  entry: string | null = $state(null);
  rings: Ring[] = $state.raw([]);
  /** Where the camera is to fly; a new object each time, so that the same place can be asked again. */
  fly: { to: Vec3 } | null = $state.raw(null);
  /** The same point on both views. */
  hoverLast: Vec3 | null = $state.raw(null);
  hoverFlat: Vec2 | null = $state.raw(null);
  /** Whether stretch and fullness are coloured. */
  strain = $state(true);
  /** The paper whose sheets lie over the piece. */
  tiles: string | null = $state(null);

  show(ring: Ring): void {
    this.rings = ring.at || ring.flat ? [ring] : [];
    if (ring.at) this.fly = { to: ring.at };
  }

  clear(): void {
    this.rings = [];
    this.chosen = null;
    this.placing = null;
    this.entry = null;
    this.tiles = null;
  }
}
