// Strain has a colour whose sides part from near-white, and go on past the limits.
import { expect, test } from "vitest";

import { spanOf, strainColour } from "../src/look/strain_colours";

test("nothing to do is near-white on both sides", () => {
  expect(strainColour(0, 10)).toEqual([247, 247, 247]);
  expect(strainColour(-0.001, 10)[2]).toBeCloseTo(247, 0);
});

test("stretch is orange, fullness is purple", () => {
  const [red, , blue] = strainColour(6, 10);
  expect(red).toBeGreaterThan(blue + 100);
  const [r, g, b] = strainColour(-6, 10);
  expect(b).toBeGreaterThan(g + 40);
  expect(b).toBeGreaterThan(r);
});

test("beyond the limit still differs from at the limit, and both sides compare", () => {
  const span = spanOf({ stretch: 10, compress: 6 });
  expect(span).toBe(15);
  expect(strainColour(12, span)).not.toEqual(strainColour(10, span));
  expect(strainColour(40, span)).toEqual(strainColour(15, span));
});
