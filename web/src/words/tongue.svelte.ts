// The language of the page, remembered in the browser, and numbers written its way.
import { de } from "./de";
import { en, type Term, type Words } from "./en";
import { program } from "./program/de";
import { Translator, type Catalogue, type Part } from "./said";

const TONGUES: Record<string, Words> = { en, de };
/** The program speaks English; what it says is put into the other languages here. */
const PROGRAM: Record<string, Catalogue> = { de: program };
/** The languages in use: hundreds of patterns are made ready only where someone reads them. */
const READY = new Map<string, Translator>();
const KEPT = "featherline.language";

class Tongue {
  code = $state(first());
  words: Words = $derived(TONGUES[this.code]);

  choose(code: string): void {
    this.code = code;
    localStorage.setItem(KEPT, code);
    document.documentElement.lang = code;
  }

  /** The languages there are, each in its own name. */
  get all(): [string, string][] {
    return Object.entries(TONGUES).map(([code, words]) => [code, words.language]);
  }

  /** A number with `digits` after the decimal sign. */
  number(value: number, digits = 1): string {
    // A rounded -0.0 would be read as a sign.
    const text = (Number(value.toFixed(digits)) || 0).toFixed(digits);
    return text.replace("-", "−").replace(".", this.words.decimal);
  }

  /** A change, which always has its sign. */
  signed(value: number, digits = 1): string {
    const text = this.number(value, digits);
    return Number(value.toFixed(digits)) > 0 ? `+${text}` : text;
  }

  /** A size such as `EU 38.5` with the decimal sign of the language. */
  decimal(size: string): string {
    return size.replace(/(\d)\.(\d)/, `$1${this.words.decimal}$2`);
  }

  /** A number with the unit of a report: `mm`, `%`, `degrees`, `count`. */
  measure(value: number, unit: string): string {
    if (unit === "count") return this.number(value, 0);
    if (unit === "degrees") return `${this.number(value, 0)}°`;
    return `${this.number(value)} ${unit}`;
  }

  whole(value: number): string {
    return value.toLocaleString(this.code);
  }

  entry(key: string): Term {
    return this.words.names.entries[key] ?? this.words.names.marks[key] ?? plain(key);
  }

  /** A word for a handle, short enough to stand beside it. */
  handle(key: string): string {
    return this.words.names.handles[key.split(".").pop() ?? key] ?? this.entry(key).label;
  }

  /** What an edit changed, its keys in trade words. */
  change(told: string): string {
    return told.replaceAll(/\b(?:last|marks|stiffener|wearer|topline|range)(?:\.[a-z_]+)+/g, (key) => this.entry(key).label);
  }

  /** A sentence of the program. */
  said(sentence: string): string {
    return translator(this.code)?.said(sentence) ?? sentence;
  }

  /** The same in parts: what is not known stayed English. */
  parts(sentence: string): Part[] {
    return translator(this.code)?.parts(sentence) ?? [{ text: sentence, foreign: false }];
  }

  /** The place of a notice: a key, or words of the program. */
  place(told: string): string {
    const named = this.change(told);
    return named === told ? this.said(told) : named;
  }

  mark(key: string): Term {
    return this.words.names.marks[key] ?? plain(key);
  }

  option(value: unknown): string {
    return this.words.names.options[String(value)] ?? String(value).replaceAll("_", " ");
  }
}

/** Null for the language that the program speaks itself. */
function translator(code: string): Translator | null {
  const catalogue = PROGRAM[code];
  if (!catalogue) return null;
  const ready = READY.get(code) ?? new Translator(catalogue, TONGUES[code].decimal);
  READY.set(code, ready);
  return ready;
}

/** A key that the catalogue does not know yet is better shown raw than not at all. */
function plain(key: string): Term {
  const name = key.split(".").pop() ?? key;
  return { label: name.replaceAll("_", " "), about: "" };
}

function first(): string {
  const kept = localStorage.getItem(KEPT);
  const code = kept && kept in TONGUES ? kept : navigator.language.startsWith("de") ? "de" : "en";
  document.documentElement.lang = code;
  return code;
}

export const tongue = new Tongue();
