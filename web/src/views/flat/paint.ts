// What lies beneath the lines of the flat piece, on a canvas: strain and the grid in cm.
import { spanOf, strainColour } from "../../look/strain_colours";
import { vertexStrain } from "../../space/strain";
import type { Piece } from "../../talk/piece_bytes";
import { fillTriangles, pixelOf } from "./raster";
import type { FlatWindow } from "./window";

const PLAIN = pixelOf([0xdf, 0xe9, 0xe5]);

export function paint(
  canvas: HTMLCanvasElement,
  seen: FlatWindow,
  piece: Piece | null,
  strain: boolean,
): void {
  const ratio = Math.min(devicePixelRatio, 2);
  canvas.width = Math.round(seen.width * ratio);
  canvas.height = Math.round(seen.height * ratio);
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  if (!pen) return;
  pen.scale(ratio, ratio);
  pen.fillStyle = "#fbfaf6";
  pen.fillRect(0, 0, seen.width, seen.height);
  if (piece) fillWall(pen, seen, piece, strain);
  rule(pen, seen);
}

/** The wall in the colours of its strain, as on the last; pixels beside it are left as they are. */
function fillWall(pen: CanvasRenderingContext2D, seen: FlatWindow, piece: Piece, strain: boolean): void {
  const { width, height } = pen.canvas;
  const { flat, corners } = piece.wall;
  const ratio = width / seen.width;
  const places = new Float32Array(flat.length);
  for (let v = 0; v < flat.length; v += 2) {
    const { x, y } = seen.toScreen([flat[v], flat[v + 1]]);
    places[v] = ratio * x;
    places[v + 1] = ratio * y;
  }
  const span = spanOf(piece.limits);
  const colours = new Uint32Array(corners.length / 3).fill(PLAIN);
  if (strain) {
    const at = vertexStrain(piece.wall);
    for (let t = 0; t < colours.length; t++) {
      const value = (at[corners[3 * t]] + at[corners[3 * t + 1]] + at[corners[3 * t + 2]]) / 3;
      colours[t] = pixelOf(strainColour(value, span));
    }
  }
  const picture = pen.getImageData(0, 0, width, height);
  const pixels = new Uint32Array(picture.data.buffer);
  fillTriangles({ pixels, width, height }, places, corners, colours);
  pen.putImageData(picture, 0, 0);
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
