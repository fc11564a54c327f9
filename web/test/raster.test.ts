// Pixels of triangles against the sign of areas, and of neighbours against each other.
import { describe, expect, it } from "vitest";

import { fillTriangles, pixelOf } from "../src/views/flat/raster";

const WIDTH = 40;
const HEIGHT = 30;

/** Numbers from 0 to 1 that are the same each time. */
function numbers(seed: number): () => number {
  return () => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return seed / 2147483648;
  };
}

function filled(places: number[], corners: number[]): Uint32Array {
  const pixels = new Uint32Array(WIDTH * HEIGHT);
  const colours = Uint32Array.from({ length: corners.length / 3 }, (_, t) => t + 1);
  fillTriangles({ pixels, width: WIDTH, height: HEIGHT }, new Float32Array(places), new Uint32Array(corners), colours);
  return pixels;
}

/** Twice the signed area of three points: its sign tells on which side the third lies. */
function turn(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number {
  return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
}

describe("the raster", () => {
  it("fills what lies inside, also where a triangle reaches beyond the picture", () => {
    const next = numbers(7);
    const wrong: string[] = [];
    for (let n = 0; n < 200; n++) {
      const p = Float32Array.from({ length: 6 }, (_, i) => (i % 2 ? HEIGHT : WIDTH) * (1.6 * next() - 0.3));
      const pixels = filled([...p], [0, 1, 2]);
      for (let y = 0; y < HEIGHT; y++) {
        for (let x = 0; x < WIDTH; x++) {
          const at = [x + 0.5, y + 0.5] as const;
          const sides = [turn(p[0], p[1], p[2], p[3], ...at), turn(p[2], p[3], p[4], p[5], ...at), turn(p[4], p[5], p[0], p[1], ...at)];
          // On an edge it may be either.
          if (Math.min(...sides.map(Math.abs)) < 1e-3) continue;
          const inside = sides.every((side) => side > 0) || sides.every((side) => side < 0);
          if ((pixels[y * WIDTH + x] === 1) !== inside) wrong.push(`${n}: ${x}, ${y}`);
        }
      }
    }
    expect(wrong).toEqual([]);
  });

  it("leaves nothing between neighbours", () => {
    const next = numbers(3);
    // A net over the whole picture, its inner points moved about.
    const [columns, rows] = [9, 7];
    const places: number[] = [];
    for (let r = 0; r <= rows; r++) {
      for (let c = 0; c <= columns; c++) {
        const rim = r % rows === 0 || c % columns === 0;
        places.push((c / columns) * WIDTH + (rim ? 0 : 2 * next() - 1), (r / rows) * HEIGHT + (rim ? 0 : 2 * next() - 1));
      }
    }
    const corners: number[] = [];
    for (let r = 0; r < rows; r++) {
      for (let c = 0; c < columns; c++) {
        const v = r * (columns + 1) + c;
        corners.push(v, v + 1, v + columns + 1, v + 1, v + columns + 2, v + columns + 1);
      }
    }
    const all = filled(places, corners);
    expect(all.every((pixel) => pixel !== 0)).toBe(true);
    // Painted the other way round nothing changes: no pixel is painted twice.
    const count = corners.length / 3;
    const backwards = Array.from({ length: count }, (_, t) => corners.slice(3 * (count - 1 - t), 3 * (count - t))).flat();
    expect(filled(places, backwards).map((pixel) => count + 1 - pixel)).toEqual(all);
  });

  it("writes colours as a canvas keeps them", () => {
    const bytes = new Uint8Array(new Uint32Array([pixelOf([1, 2, 3])]).buffer);
    expect([...bytes]).toEqual([1, 2, 3, 255]);
  });
});
