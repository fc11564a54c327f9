// Meshes and pieces are read from bytes laid out as `wire.ts` says.
import { expect, test } from "vitest";

import { readMesh } from "../src/talk/mesh_bytes";
import { readPiece } from "../src/talk/piece_bytes";

const TRIANGLE = [0, 0, 0, 1, 0, 0, 0, 1, 0];

function bytes(write: (view: DataView) => number): ArrayBuffer {
  const room = new ArrayBuffer(1000);
  return room.slice(0, write(new DataView(room)));
}

function floats(view: DataView, at: number, values: number[]): number {
  values.forEach((value, i) => view.setFloat32(at + 4 * i, value, true));
  return at + 4 * values.length;
}

function counts(view: DataView, at: number, values: number[]): number {
  values.forEach((value, i) => view.setUint32(at + 4 * i, value, true));
  return at + 4 * values.length;
}

test("the origin of a mesh is added to every place", () => {
  const mesh = readMesh(
    bytes((view) => {
      counts(view, 0, [3, 1]);
      [100, 200, 300].forEach((value, i) => view.setFloat64(8 + 8 * i, value, true));
      return counts(view, floats(view, 32, TRIANGLE), [0, 1, 2]);
    }),
  );
  expect([...mesh.places]).toEqual([100, 200, 300, 101, 200, 300, 100, 201, 300]);
  expect([...mesh.corners]).toEqual([0, 1, 2]);
});

test("a mesh that is cut short is refused", () => {
  const short = bytes((view) => floats(view, counts(view, 0, [3, 1]) + 24, TRIANGLE));
  expect(() => readMesh(short)).toThrow("cut short");
});

test.each([0, 1, 2, 3])("a piece is read whatever its words' length leaves over: %d", (over) => {
  const words = JSON.stringify({ tell: "piece", note: "x".repeat(over) });
  const piece = readPiece(
    bytes((view) => {
      const text = new TextEncoder().encode(words);
      const padded = Math.ceil(text.length / 4) * 4;
      view.setUint32(0, padded, true);
      for (let i = 0; i < padded; i++) view.setUint8(4 + i, text[i] ?? 32);
      let at = counts(view, 4 + padded, [3, 1]);
      at = floats(view, at, TRIANGLE);
      at = floats(view, at, [0, 0, 1, 0, 0, 1]);
      at = floats(view, at, [-2.5]);
      return counts(view, at, [0, 1, 2]);
    }),
  );
  expect(piece.tell).toBe("piece");
  expect([...piece.wall.strain]).toEqual([-2.5]);
  expect([...piece.wall.corners]).toEqual([0, 1, 2]);
});
