// The catalogue of the program's sentences: sound in itself, and none that the program no longer says.
import { expect, test } from "vitest";

import { program } from "../src/words/program/de";
import { between, holesOf } from "../src/words/said";

/** The string literals of the sources of all crates: lines that go on joined, signs as they are told. */
const literals = Object.values(
  import.meta.glob<string>(["../../crates/*/src/**/*.rs", "!**/*tests.rs"], { query: "?raw", import: "default", eager: true }),
).flatMap((file) => {
  const [source] = file.split("#[cfg(test)]\nmod tests {");
  // Comments and characters are found too, lest a quotation mark in one open a string.
  const tokens = source.matchAll(/\/\/[^\n]*|'(?:\\.|[^\\'\n])'|"((?:\\[^]|[^"\\])*)"/g);
  return [...tokens].flatMap(([, text]) => (text === undefined ? [] : [told(text)]));
});

function told(literal: string): string {
  return literal.replace(/\\\n\s*/g, "").replaceAll("\\n", "\n").replaceAll('\\"', '"').replaceAll("{{", "{").replaceAll("}}", "}");
}

/** Whether one literal of the sources has these words in this order. */
function saidByTheProgram(words: string[]): boolean {
  return literals.some((literal) => {
    let from = 0;
    return words.every((part) => {
      const at = literal.indexOf(part, from);
      from = at + part.length;
      return at >= 0;
    });
  });
}

test("the sources are found", () => {
  expect(literals.length).toBeGreaterThan(1000);
  expect(saidByTheProgram(["place of the ", " ankle"])).toBe(true);
  expect(saidByTheProgram(["place of the ", " elbow"])).toBe(false);
});

test("every pattern is still a sentence of the program", () => {
  const words = (english: string) => between(english).filter((part) => part !== "");
  const stale = program.pairs.map(([english]) => english).filter((english) => !saidByTheProgram(words(english)));
  expect(stale).toEqual([]);
});

test("every word of the tables is still one of the program", () => {
  const all = new Set(Object.values(program.words).flatMap((table) => Object.keys(table)));
  const stale = [...all].filter((word) => word !== "" && !literals.includes(word));
  expect(stale).toEqual([]);
});

test("no sentence stands twice", () => {
  const all = program.pairs.map(([english]) => english);
  expect(all.filter((english, i) => all.indexOf(english) !== i)).toEqual([]);
});

test("what is in a hole is told again, each table has every word", () => {
  for (const [english, german] of program.pairs) {
    const [asked, told] = [holesOf(english), holesOf(german)];
    for (const { hole, table } of told) {
      const from = asked.find((one) => one.hole === hole);
      expect(from, `${english}: {${hole}}`).toBeDefined();
      if (table) expect(Object.keys(program.words[table]).sort(), table).toEqual(Object.keys(program.words[from!.table!]).sort());
    }
    const left = asked.filter(({ hole }) => hole !== "text" && hole !== "s" && !told.some((one) => one.hole === hole));
    expect(left, english).toEqual([]);
  }
});
