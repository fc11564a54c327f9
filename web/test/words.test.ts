// Both catalogues have every word, and numbers are read as people type them.
import { expect, test } from "vitest";

import { de } from "../src/words/de";
import { en } from "../src/words/en";
import { numberTyped } from "../src/words/numbers";

function paths(words: object, at = ""): string[] {
  return Object.entries(words).flatMap(([key, value]) =>
    typeof value === "object" ? paths(value as object, `${at}${key}/`) : [`${at}${key}`],
  );
}

// The compiler holds all but the open lists: names of entries, marks and choices.
test("German names all that English names", () => {
  expect(paths(de).sort()).toEqual(paths(en).sort());
});

test.each([
  ["12.5", 12.5],
  [" 12,5 mm", 12.5],
  ["−3", -3],
  [".5", 0.5],
  ["1 2", null],
  ["", null],
  ["12 cm", null],
])("%j is read as %j", (text, value) => {
  expect(numberTyped(text)).toBe(value);
});
