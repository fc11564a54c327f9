// Which part of the plane a flat view shows: mm with y up, and pixels with y down.
import type { Vec2 } from "../../wire";

const LEAST = 0.4;
const MOST = 60;

export class FlatWindow {
  width = 1;
  height = 1;
  middle: Vec2 = [0, 0];
  /** CSS px a mm. */
  scale = 2;

  toScreen([x, y]: Vec2): { x: number; y: number } {
    return {
      x: this.width / 2 + (x - this.middle[0]) * this.scale,
      y: this.height / 2 - (y - this.middle[1]) * this.scale,
    };
  }

  toPlane(x: number, y: number): Vec2 {
    return [
      this.middle[0] + (x - this.width / 2) / this.scale,
      this.middle[1] - (y - this.height / 2) / this.scale,
    ];
  }

  /** The whole of a box, with some air. */
  fit(low: Vec2, high: Vec2): void {
    this.middle = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    const scale = Math.min(
      (this.width * 0.92 - 16) / Math.max(high[0] - low[0], 1),
      (this.height * 0.92 - 40) / Math.max(high[1] - low[1], 1),
    );
    this.scale = clamp(scale);
  }

  /** Comes closer by a factor; what is under the pixel stays there. */
  zoom(by: number, x = this.width / 2, y = this.height / 2): void {
    const fixed = this.toPlane(x, y);
    this.scale = clamp(this.scale * by);
    const now = this.toPlane(x, y);
    this.middle = [this.middle[0] + fixed[0] - now[0], this.middle[1] + fixed[1] - now[1]];
  }

  shift(dx: number, dy: number): void {
    this.middle = [this.middle[0] - dx / this.scale, this.middle[1] + dy / this.scale];
  }
}

const clamp = (scale: number) => Math.min(Math.max(scale, LEAST), MOST);
