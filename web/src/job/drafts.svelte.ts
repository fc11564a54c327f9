// What was typed and is not kept yet: it outlives a change of station, a break of the line and a
// reload of the page.
import type { Trouble } from "../wire";
import type { Bench } from "./bench.svelte";

export interface Draft {
  text: string;
  /** How the program reads it. */
  understood: string | null;
  /** Why it does not take it. */
  trouble: Trouble | null;
}

interface Stored {
  texts: Record<string, string>;
  rows: Record<string, Rows>;
}

/** Rows of a table as typed, column by column. */
export type Rows = Record<string, string>[];

/** Long enough to type the next digit, short enough to feel answered. */
const PAUSE_MS = 220;

export class Drafts {
  #texts: Record<string, Draft> = $state({});
  #rows: Record<string, Rows> = $state({});
  #timers = new Map<string, number>();
  /** The latest question about a key: older answers are stale. */
  #latest = new Map<string, number>();

  constructor(private readonly bench: Bench) {
    const stored = this.#stored();
    for (const [key, text] of Object.entries(stored.texts)) {
      this.#texts[key] = { text, understood: null, trouble: null };
    }
    this.#rows = stored.rows;
  }

  of(key: string): Draft | undefined {
    return this.#texts[key];
  }

  type(key: string, text: string): void {
    this.#texts[key] = { text, understood: null, trouble: this.#texts[key]?.trouble ?? null };
    this.#store();
    clearTimeout(this.#timers.get(key));
    this.#timers.set(key, window.setTimeout(() => this.#ask(key, false), PAUSE_MS));
  }

  /** Enter, or leaving the field. */
  keep(key: string): void {
    const draft = this.#texts[key];
    if (!draft) return;
    clearTimeout(this.#timers.get(key));
    const entry = this.bench.entries.get(key);
    // Words follow no rule that could come back: the program says whether they may be empty.
    const words = entry?.holds.kind === "line" || entry?.holds.kind === "size";
    if (draft.text.trim() !== "" || words) this.#ask(key, true);
    else if (entry?.entered == null) this.forget(key);
    else this.bench.backToRule(key);
  }

  forget(key: string): void {
    clearTimeout(this.#timers.get(key));
    this.#latest.delete(key);
    delete this.#texts[key];
    delete this.#rows[key];
    this.#store();
  }

  /** The rows of `key` being changed; undefined while they are those that are kept. */
  rowsOf(key: string): Rows | undefined {
    return this.#rows[key];
  }

  typeRows(key: string, rows: Rows): void {
    this.#rows[key] = rows;
    this.#store();
  }

  #ask(key: string, keep: boolean): void {
    const text = this.#texts[key]?.text;
    if (text === undefined) return;
    if (keep) this.bench.refused = null;
    this.bench.ask(
      (id) => {
        this.#latest.set(key, id);
        return { say: "typed", id, key, text, keep };
      },
      (answer) => {
        const draft = this.#texts[key];
        // Typed on since: this answer is about an older text.
        if (!draft || draft.text !== text || this.#latest.get(key) !== answer.id) return;
        if (answer.tell === "understood") Object.assign(draft, { understood: answer.words, trouble: null });
        else if (answer.tell === "refused") Object.assign(draft, { understood: null, trouble: answer.trouble });
        else if (keep) this.forget(key);
      },
    );
  }

  get #place(): string {
    return `featherline.typed.${this.bench.job}`;
  }

  #store(): void {
    const texts = Object.entries(this.#texts).map(([key, draft]) => [key, draft.text]);
    const stored: Stored = { texts: Object.fromEntries(texts), rows: this.#rows };
    sessionStorage.setItem(this.#place, JSON.stringify(stored));
  }

  #stored(): Stored {
    const none = { texts: {}, rows: {} };
    try {
      return { ...none, ...(JSON.parse(sessionStorage.getItem(this.#place) ?? "{}") as Partial<Stored>) };
    } catch {
      return none;
    }
  }
}
