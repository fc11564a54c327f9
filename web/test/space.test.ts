// Frames and twins: what is pointed at on one view is the same place on the other.
import { expect, test } from "vitest";

import { fileFromLast } from "../src/space/frames";
import { Twins } from "../src/space/twins";
import type { Vec3 } from "../src/wire";

test("a place goes to the file and back to within a millionth of a millimetre", () => {
  // Inches, turned by 30 degrees about z and shifted.
  const [c, s] = [25.4 * Math.cos(Math.PI / 6), 25.4 * Math.sin(Math.PI / 6)];
  const rows = [
    [c, -s, 0, 11],
    [s, c, 0, -7],
    [0, 0, 25.4, 3],
    [0, 0, 0, 1],
  ];
  const inLast: Vec3 = [172.25, -41.5, 12.125];
  const inFile = fileFromLast(rows, inLast);
  for (let axis = 0; axis < 3; axis++) {
    const [x, y, z] = inFile;
    const back = rows[axis][0] * x + rows[axis][1] * y + rows[axis][2] * z + rows[axis][3];
    expect(back).toBeCloseTo(inLast[axis], 6);
  }
});

const WALL = {
  // Two triangles of a square, 10 mm, bent up along the diagonal on the last.
  onLast: new Float32Array([0, 0, 0, 10, 0, 0, 10, 10, 4, 0, 10, 0]),
  flat: new Float32Array([0, 0, 10, 0, 10, 10, 0, 10]),
  strain: new Float32Array([0, 0]),
  corners: new Uint32Array([0, 1, 2, 0, 2, 3]),
};

test("a point of the flat piece and its twin on the last lead to each other", () => {
  const twins = new Twins(WALL);
  const onLast = twins.onLast([7, 2])!;
  expect(onLast[0]).toBeCloseTo(7, 5);
  expect(onLast[1]).toBeCloseTo(2, 5);
  expect(onLast[2]).toBeCloseTo(0.8, 5);
  const back = twins.onFlat(0, onLast);
  expect(back[0]).toBeCloseTo(7, 5);
  expect(back[1]).toBeCloseTo(2, 5);
});

test("beside the wall there is no twin", () => {
  expect(new Twins(WALL).onLast([12, 3])).toBeNull();
});
