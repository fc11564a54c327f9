// The sentences that the program tells, in another language: looked up whole, by pattern, part by part.
//
// A pattern has holes for what varies. `{n}` is a number, `{len}` a length with its unit, `{at}` a
// place `(x, y, z)` or `[x, y, z]`, `{text}` what is no sentence (names, what was typed), `{said}` a sentence that is
// looked up in turn; any other hole holds a word of the table of its name. A digit behind a name
// makes a second hole of the kind; `{side:adj}` in the translation takes the word from the table of
// that whole name, for another case of it.

/** A sentence of the program, or a pattern of one, and its translation. */
export type Pair = readonly [english: string, translated: string];

export interface Catalogue {
  pairs: readonly Pair[];
  /** What the words in holes become, by the name of the hole. */
  words: Record<string, Record<string, string>>;
}

/** A part of a sentence; `foreign` where the catalogue does not know it and it stayed English. */
export interface Part {
  text: string;
  foreign: boolean;
}

interface Pattern {
  finds: RegExp;
  /** Its longest words: a sentence without them need not be looked at closer. */
  sign: string;
  /** The holes in the order in which they are found. */
  holes: string[];
  translated: string;
  /** How much of it is words: of two patterns that fit, the one that says more is meant. */
  weight: number;
}

const HOLE = /\{([a-z]+\d*)\}/g;
const HOLE_TO_FILL = /\{([a-z]+\d*)(?::([a-z]+))?\}/g;
const NUMBER = String.raw`[-−]?\d+(?:\.\d+)?(?:e[-+]?\d+)?`;
const SHAPES: Record<string, string> = {
  n: NUMBER,
  len: `${NUMBER}(?: (?:mm|cm|m|in))?`,
  at: String.raw`[(\[]${NUMBER}(?:, ${NUMBER})*[)\]]`,
  text: ".+?",
  said: ".+?",
};
/** Where two sentences may have been put together. */
const JOINTS = /; |: |\. /g;
/** Numbers change all the time; what was said long ago is forgotten. */
const MOST_KEPT = 2000;

export class Translator {
  readonly #exact = new Map<string, string>();
  readonly #patterns: Pattern[] = [];
  readonly #kept = new Map<string, Part[]>();

  /** `decimal` is the sign between the whole and its parts. */
  constructor(
    private readonly catalogue: Catalogue,
    private readonly decimal: string,
  ) {
    for (const [english, translated] of catalogue.pairs) {
      if (english.search(HOLE) < 0) this.#exact.set(english, translated);
      else this.#patterns.push(this.#compiled(english, translated));
    }
    this.#patterns.sort((a, b) => b.weight - a.weight);
  }

  /** The sentence in parts, of which those that are not known stay as they are. */
  parts(sentence: string): Part[] {
    const kept = this.#kept.get(sentence);
    if (kept) return kept;
    if (this.#kept.size >= MOST_KEPT) this.#kept.clear();
    const parts = merged(this.#translated(sentence));
    this.#kept.set(sentence, parts);
    return parts;
  }

  said(sentence: string): string {
    return this.parts(sentence).map((part) => part.text).join("");
  }

  #translated(sentence: string): Part[] {
    const whole = this.#whole(sentence);
    if (whole && known(whole)) return whole;
    const joints = [...sentence.matchAll(JOINTS)];
    for (const joint of joints) {
      const left = this.#whole(sentence.slice(0, joint.index));
      if (!left || !known(left)) continue;
      const right = this.parts(sentence.slice(joint.index + joint[0].length));
      // A part that is half known is better than nothing, but not than the whole.
      if (known(right) || !whole) return [...left, ours(joint[0]), ...right];
    }
    if (whole) return whole;
    const [first] = joints;
    if (!first) return [{ text: sentence, foreign: true }];
    const left = { text: sentence.slice(0, first.index), foreign: true };
    const right = this.parts(sentence.slice(first.index + first[0].length));
    return [left, { text: first[0], foreign: right.at(0)?.foreign ?? false }, ...right];
  }

  /** By one line of the catalogue; null where none fits. */
  #whole(sentence: string): Part[] | null {
    const exact = this.#exact.get(sentence);
    if (exact !== undefined) return [ours(exact)];
    let half: Part[] | null = null;
    for (const pattern of this.#patterns) {
      const found = sentence.includes(pattern.sign) ? pattern.finds.exec(sentence) : null;
      if (!found) continue;
      const parts = this.#filled(pattern, found);
      if (known(parts)) return parts;
      half ??= parts;
    }
    return half;
  }

  #filled(pattern: Pattern, found: RegExpExecArray): Part[] {
    const values = new Map(pattern.holes.map((hole, i) => [hole, found[i + 1]]));
    const parts: Part[] = [];
    let end = 0;
    for (const hole of pattern.translated.matchAll(HOLE_TO_FILL)) {
      parts.push(ours(pattern.translated.slice(end, hole.index)));
      parts.push(...this.#inHole(kind(hole[1]), hole[2], values.get(hole[1]) ?? ""));
      end = hole.index + hole[0].length;
    }
    return [...parts, ours(pattern.translated.slice(end))];
  }

  #inHole(kind: string, form: string | undefined, value: string): Part[] {
    switch (kind) {
      case "n":
      case "len":
        return [ours(this.#number(value))];
      case "at":
        return [ours(this.#number(this.decimal === "," ? value.replaceAll(", ", "; ") : value))];
      case "text":
        return [ours(value)];
      case "said":
        return this.parts(value);
      default:
        return [ours(this.catalogue.words[form ? `${kind}:${form}` : kind][value])];
    }
  }

  #number(text: string): string {
    return text.replaceAll("-", "−").replaceAll(".", this.decimal);
  }

  #compiled(english: string, translated: string): Pattern {
    const holes: string[] = [];
    let source = "";
    let weight = 0;
    let end = 0;
    for (const hole of english.matchAll(HOLE)) {
      const words = english.slice(end, hole.index);
      holes.push(hole[1]);
      source += `${literally(words)}(${SHAPES[kind(hole[1])] ?? this.#oneOf(kind(hole[1]))})`;
      weight += words.length;
      end = hole.index + hole[0].length;
    }
    const rest = english.slice(end);
    const finds = new RegExp(`^${source}${literally(rest)}$`, "s");
    const sign = between(english).reduce((longest, part) => (part.length > longest.length ? part : longest), "");
    return { finds, sign, holes, translated, weight: weight + rest.length };
  }

  #oneOf(name: string): string {
    const words = Object.keys(this.catalogue.words[name] ?? {});
    if (words.length === 0) throw new Error(`no words for the hole {${name}}`);
    return words.sort((a, b) => b.length - a.length).map(literally).join("|");
  }
}

/** The holes of a pattern or of its translation, each with the table of its form. */
export const holesOf = (pattern: string): { hole: string; table: string | null }[] =>
  [...pattern.matchAll(HOLE_TO_FILL)].map(([, hole, form]) => ({
    hole,
    table: kind(hole) in SHAPES ? null : form ? `${kind(hole)}:${form}` : kind(hole),
  }));

/** What stands between the holes of a pattern. */
export const between = (pattern: string): string[] => pattern.split(/\{[^}]*\}/);

const kind = (hole: string): string => hole.replace(/\d+$/, "");
const ours = (text: string): Part => ({ text, foreign: false });
const known = (parts: Part[]): boolean => parts.every((part) => !part.foreign);
const literally = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");

function merged(parts: Part[]): Part[] {
  const all: Part[] = [];
  for (const part of parts) {
    const last = all.at(-1);
    if (last && last.foreign === part.foreign) last.text += part.text;
    else if (part.text !== "") all.push({ ...part });
  }
  return all;
}
