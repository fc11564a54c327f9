// Sentences of the program in another language: how they are looked up.
import { describe, expect, test } from "vitest";

import { Translator } from "../src/words/said";

const translator = new Translator(
  {
    pairs: [
      ["centre back", "hintere Mitte"],
      ["place of the {side} ankle", "Lage des {side:stem}knöchels"],
      ["{n} mm or more", "mindestens {n} mm"],
      ["{n} mm or more under {n2} mm", "mindestens {n} mm unter {n2} mm"],
      ["{said} and {said2} cannot both be met", "{said} und {said2} gehen nicht zusammen"],
      ["the hole at {at} is {n} across", "das Loch bei {at} ist {n} groß"],
      ["filled: {n} place{s}, up to {len} across", "gefüllt: {n} Stelle{s}, bis {len}"],
      ["\"{text}\" is no length", "„{text}“ ist keine Länge"],
      ["nothing to do", "nichts zu tun"],
    ],
    words: {
      side: { inside: "innen", outside: "außen" },
      "side:stem": { inside: "Innen", outside: "Außen" },
      s: { "": "", s: "n" },
    },
  },
  ",",
);

describe("a sentence is looked up", () => {
  test.each([
    ["centre back", "hintere Mitte"],
    ["place of the outside ankle", "Lage des Außenknöchels"],
    // The pattern that says more is meant, wherever it stands in the list.
    ["0.5 mm or more under 44.0 mm", "mindestens 0,5 mm unter 44,0 mm"],
    ["-3.25 mm or more", "mindestens −3,25 mm"],
    ["the hole at (1.5, -2.0, 0.3) is 12.4 across", "das Loch bei (1,5; −2,0; 0,3) ist 12,4 groß"],
    ["filled: 1 place, up to 0.123 mm across", "gefüllt: 1 Stelle, bis 0,123 mm"],
    ["filled: 2 places, up to 12 across", "gefüllt: 2 Stellen, bis 12"],
    // What was typed is no number to be told another way, and its signs belong to nobody.
    ["\"1.5 ({n}\" is no length", "„1.5 ({n}“ ist keine Länge"],
  ])("%j", (english, german) => {
    expect(translator.said(english)).toBe(german);
    expect(translator.parts(english).every((part) => !part.foreign)).toBe(true);
  });

  test("within another", () => {
    expect(translator.said("place of the inside ankle and 3 mm or more cannot both be met")).toBe(
      "Lage des Innenknöchels und mindestens 3 mm gehen nicht zusammen",
    );
  });

  test("part by part, where several were put together", () => {
    expect(translator.said("centre back: 3 mm or more; nothing to do")).toBe("hintere Mitte: mindestens 3 mm; nichts zu tun");
  });
});

describe("what is not known stays English, and is marked", () => {
  test.each([
    ["a sentence nobody knows", [["a sentence nobody knows", true]]],
    ["place of the left ankle", [["place of the left ankle", true]]],
    ["many mm or more", [["many mm or more", true]]],
    ["Centre back", [["Centre back", true]]],
    ["", []],
    // The parts that are known are told all the same.
    ["nothing to do: who knows", [["nichts zu tun: ", false], ["who knows", true]]],
    ["who knows: nobody does; nothing to do", [["who knows: nobody does", true], ["; nichts zu tun", false]]],
    ["who knows; nothing to do", [["who knows", true], ["; nichts zu tun", false]]],
    ["centre back and whoever cannot both be met", [["hintere Mitte und ", false], ["whoever", true], [" gehen nicht zusammen", false]]],
  ] as [string, [string, boolean][]][])("%j", (english, parts) => {
    expect(translator.parts(english).map(({ text, foreign }) => [text, foreign])).toEqual(parts);
  });
});

test("a hole without its words is refused", () => {
  expect(() => new Translator({ pairs: [["a {colour} last", "ein {colour} Leisten"]], words: {} }, ",")).toThrow("{colour}");
});
