// A ruler laid over the flat piece: two ends and the length between.
import { size2 } from "../../space/vec";
import type { Vec2 } from "../../wire";

export const ENDS = ["ruler.start", "ruler.end"] as const;
export type End = (typeof ENDS)[number];

export class Ruler {
  ends: Record<End, Vec2>;

  /** Laid across the middle of what is seen. */
  constructor(middle: Vec2, length: number) {
    this.ends = {
      "ruler.start": [middle[0] - length / 2, middle[1]],
      "ruler.end": [middle[0] + length / 2, middle[1]],
    };
  }

  get length(): number {
    const [a, b] = [this.ends["ruler.start"], this.ends["ruler.end"]];
    return size2([b[0] - a[0], b[1] - a[1]]);
  }

  get middle(): Vec2 {
    const [a, b] = [this.ends["ruler.start"], this.ends["ruler.end"]];
    return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  }
}

export const isEnd = (id: string): id is End => (ENDS as readonly string[]).includes(id);
