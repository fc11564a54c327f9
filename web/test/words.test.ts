// Both catalogues have every word.
import { expect, test } from "vitest";

import { de } from "../src/words/de";
import { en } from "../src/words/en";

function paths(words: object, at = ""): string[] {
  return Object.entries(words).flatMap(([key, value]) =>
    typeof value === "object" ? paths(value as object, `${at}${key}/`) : [`${at}${key}`],
  );
}

// The compiler holds all but the open lists: names of entries, marks and choices.
test("German names all that English names", () => {
  expect(paths(de).sort()).toEqual(paths(en).sort());
});
