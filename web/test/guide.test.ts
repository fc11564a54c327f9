// The guide says the same in the program and in docs/guide.md, and calls things as the page does.
// `make screenshots` writes docs/guide.md anew.
import { expect, test } from "vitest";

import { pictureFile, STEPS } from "../src/guide/steps";
import { de } from "../src/words/de";
import { en, type Words } from "../src/words/en";
import type { GuideStep } from "../src/words/guide.en";

const PICTURES = "../web/src/guide/pictures/en";

function asMarkdown({ guide }: Words): string {
  const steps = STEPS.flatMap(([name], i) => {
    const step: GuideStep = guide.steps[name];
    const points = step.points && [step.points.title, step.points.all.map((point) => `- ${point}`).join("\n")];
    const notes = (["look", "wrong", "care"] as const).map((kind) => step[kind] && `**${guide[kind]}:** ${step[kind]}`);
    return [
      `## ${i + 1}. ${step.title}`,
      `![${step.alt}](${PICTURES}/${pictureFile(name)})`,
      step.text,
      ...(points ?? []),
      ...notes.filter((note) => note !== undefined),
    ];
  });
  return [`# ${guide.whole}`, guide.intro, ...steps].join("\n\n") + "\n";
}

test("docs/guide.md says the words of the program's own guide", async () => {
  await expect(asMarkdown(en)).toMatchFileSnapshot("../../docs/guide.md");
});

test("every step has its picture in each language", () => {
  const taken = Object.keys(import.meta.glob("../src/guide/pictures/*/*.webp"));
  const wanted = ["en", "de"].flatMap((code) =>
    STEPS.map(([name]) => `../src/guide/pictures/${code}/${pictureFile(name)}`),
  );
  // None is left over from a step that there is no more.
  expect(taken.sort()).toEqual(wanted.sort());
});

/** Every sentence of the page, those with gaps filled as for the A4 sheet. */
function sentences(words: object): string[] {
  return Object.entries(words).flatMap(([key, value]: [string, unknown]) => {
    if (key === "guide") return [];
    if (typeof value === "function") return [String((value as (gap: string) => string)("A4"))];
    return typeof value === "object" && value ? sentences(value) : [String(value)];
  });
}

test.each([["English", en, /“([^”]+)”/g], ["German", de, /„([^“]+)“/g]] as const)(
  "what the %s guide quotes stands on the page",
  (_, words, quoted) => {
    const said = sentences(words).join("\n").toLowerCase();
    const quotes = [...JSON.stringify(words.guide.steps).matchAll(quoted)].map((match) => match[1]);
    expect(quotes.length).toBeGreaterThan(10);
    expect(quotes.filter((quote) => !said.includes(quote.toLowerCase()))).toEqual([]);
  },
);
