// What lies beneath the lines of the flat piece, on a canvas: strain and the grid in cm.
import { css, spanOf, strainColour } from "../../look/strain_colours";
import type { Piece } from "../../talk/piece_bytes";
import type { FlatWindow } from "./window";

const PLAIN = "#dfe9e5";
/** Colours are rounded to so many steps a side, so that triangles of one colour are one path. */
const STEPS = 64;

export function paint(
  canvas: HTMLCanvasElement,
  seen: FlatWindow,
  piece: Piece | null,
  strain: boolean,
): void {
  const ratio = Math.min(devicePixelRatio, 2);
  canvas.width = Math.round(seen.width * ratio);
  canvas.height = Math.round(seen.height * ratio);
  const pen = canvas.getContext("2d");
  if (!pen) return;
  pen.scale(ratio, ratio);
  pen.fillStyle = "#fbfaf6";
  pen.fillRect(0, 0, seen.width, seen.height);
  if (piece) fillWall(pen, seen, piece, strain);
  rule(pen, seen);
}

function fillWall(pen: CanvasRenderingContext2D, seen: FlatWindow, piece: Piece, strain: boolean): void {
  const { flat, corners, strain: percent } = piece.wall;
  const span = spanOf(piece.limits);
  const paths = new Map<number, Path2D>();
  for (let t = 0; t < percent.length; t++) {
    const step = strain ? Math.round(Math.min(Math.max(percent[t] / span, -1), 1) * STEPS) : 0;
    let path = paths.get(step);
    if (!path) paths.set(step, (path = new Path2D()));
    for (let k = 0; k < 3; k++) {
      const v = corners[3 * t + k];
      const { x, y } = seen.toScreen([flat[2 * v], flat[2 * v + 1]]);
      if (k === 0) path.moveTo(x, y);
      else path.lineTo(x, y);
    }
    path.closePath();
  }
  pen.lineWidth = 0.7;
  for (const [step, path] of paths) {
    const colour = strain ? css(strainColour((step / STEPS) * span, span)) : PLAIN;
    pen.fillStyle = colour;
    // Without a thin line the gaps between triangles would show as a net.
    pen.strokeStyle = colour;
    pen.fill(path);
    pen.stroke(path);
  }
}

function rule(pen: CanvasRenderingContext2D, seen: FlatWindow): void {
  const step = seen.scale * 10 >= 7 ? 10 : 50;
  const low = seen.toPlane(0, seen.height);
  const high = seen.toPlane(seen.width, 0);
  const line = (x0: number, y0: number, x1: number, y1: number, strong: boolean) => {
    pen.beginPath();
    pen.moveTo(Math.round(x0) + 0.5, Math.round(y0) + 0.5);
    pen.lineTo(Math.round(x1) + 0.5, Math.round(y1) + 0.5);
    pen.strokeStyle = strong ? "rgb(22 66 60 / 0.28)" : "rgb(22 66 60 / 0.12)";
    pen.lineWidth = 1;
    pen.stroke();
  };
  for (let x = Math.ceil(low[0] / step) * step; x <= high[0]; x += step) {
    const at = seen.toScreen([x, 0]).x;
    line(at, 0, at, seen.height, x % 50 === 0);
  }
  for (let y = Math.ceil(low[1] / step) * step; y <= high[1]; y += step) {
    const at = seen.toScreen([0, y]).y;
    line(0, at, seen.width, at, y % 50 === 0);
  }
}
