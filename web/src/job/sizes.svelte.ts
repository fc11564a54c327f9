// The sizes of the range: what is chosen to be made, what was made, and which of it is looked at.
import { askSizes, sizePiece, sizeReport, stopSizes, together, troubleOf, writeSizes } from "../talk/ask";
import type { Piece } from "../talk/piece_bytes";
import type { AskSizes, Foot, GradeTable, OneSize, SizePiece, SizesTold, Together, Trouble, Written } from "../wire";
import { tongue } from "../words/tongue.svelte";

/** What the flat view shows: the picked size, all over each other, or all in a table. */
export const SHOWS = ["one", "nest", "table"] as const;
export type Shows = (typeof SHOWS)[number];

/** One size as it is shown. */
export interface Shown extends OneSize {
  name: string;
  /** Of which run. */
  count: number;
  piece: Piece;
}

export class Sizes {
  told: SizesTold | null = $state.raw(null);
  together: Together | null = $state.raw(null);
  /** The picked size, as soon as it is here. */
  shown: Shown | null = $state.raw(null);
  shows: Shows = $state("one");
  written: Written | null = $state.raw(null);
  writing = $state(false);
  /** Why the last thing asked for was not done. */
  trouble: Trouble | null = $state.raw(null);
  /** Chosen by hand, and not asked for yet. */
  #chosen: AskSizes | null = $state.raw(null);
  #picked: string | null = $state(null);
  #kept = new Map<string, Shown>();

  constructor(private readonly job: string) {}

  /** The sizes that a run may begin and end with. */
  readonly ends: string[] = $derived.by(() => {
    const { told } = this;
    if (!told) return [];
    return this.choice?.halves && told.halves.length > 0 ? told.halves : told.whole;
  });

  readonly choice: AskSizes | null = $derived.by(() => {
    const { told } = this;
    if (!told) return null;
    const usual: AskSizes = { ...told.usual, halves: false, fittings: [], feet: ["left", "right"] };
    const wanted = this.#chosen ?? told.asked ?? usual;
    const halves = wanted.halves && told.halves.length > 0;
    const ends = halves ? told.halves : told.whole;
    // The last may have got another size or fitting since.
    const run = ends.includes(wanted.from) && ends.includes(wanted.to) ? wanted : usual;
    const fittings = told.fitting === null ? [] : wanted.fittings.filter((name) => told.fittings.includes(name));
    return { from: run.from, to: run.to, halves, fittings, feet: wanted.feet };
  });

  /** How many pieces the choice makes. */
  readonly count: number = $derived.by(() => {
    const { choice, ends } = this;
    if (!choice) return 0;
    const sizes = ends.indexOf(choice.to) - ends.indexOf(choice.from) + 1;
    return sizes * Math.max(choice.fittings.length, 1) * choice.feet.length;
  });

  /** Whether what was made is what is chosen now, and of the job as it is now. */
  readonly fresh: boolean = $derived.by(() => {
    const { told, choice } = this;
    return told?.made != null && !told.made.stale && same(told.asked, choice);
  });

  readonly pieces: SizePiece[] = $derived(this.told?.made?.pieces ?? []);
  readonly picked: SizePiece | null = $derived(this.pieces.find(({ name }) => name === this.#picked) ?? null);
  readonly feet: Foot[] = $derived([...new Set(this.pieces.map(({ foot }) => foot))]);
  readonly fittings: (string | null)[] = $derived([...new Set(this.pieces.map(({ fitting }) => fitting))]);
  /** The sizes of the picked foot and fitting, ascending. */
  readonly along: SizePiece[] = $derived(
    this.pieces.filter(({ foot, fitting }) => foot === this.picked?.foot && fitting === this.picked.fitting),
  );
  readonly table: GradeTable | null = $derived(
    this.together?.tables.find(({ foot, fitting }) => foot === this.picked?.foot && fitting === this.picked.fitting) ?? null,
  );

  /** `foot` is that of the last. */
  hear(told: SizesTold, foot: Foot | null): void {
    const before = this.told?.made?.count ?? null;
    this.told = told;
    const now = told.made?.count ?? null;
    if (now === before) return;
    this.together = null;
    this.shown = null;
    this.written = null;
    this.#kept.clear();
    if (now !== null) {
      void this.#fetchTogether(now);
      const kept = this.pieces.find(({ name }) => name === this.#picked);
      const ofSize = this.pieces.filter(({ size }) => size === told.own);
      const own = ofSize.find((piece) => piece.foot === foot) ?? ofSize[0];
      const start = kept ?? own ?? this.pieces[0];
      if (start) this.pick(start.name);
    }
  }

  /** Changes the choice; the end of the run never comes before its beginning. */
  choose(part: Partial<AskSizes>): void {
    if (!this.choice || !this.told) return;
    const wanted = { ...this.choice, ...part };
    const { whole, halves } = this.told;
    const ends = wanted.halves ? halves : whole;
    if (!ends.includes(wanted.from)) wanted.from = after(halves, ends, wanted.from);
    if (!ends.includes(wanted.to)) wanted.to = after(halves, ends, wanted.to);
    if (ends.indexOf(wanted.to) < ends.indexOf(wanted.from)) {
      if ("from" in part) wanted.to = wanted.from;
      else wanted.from = wanted.to;
    }
    this.#chosen = wanted;
  }

  async make(): Promise<void> {
    if (!this.choice) return;
    const wanted = this.choice;
    await this.#do(async () => {
      await askSizes(this.job, wanted);
      this.#chosen = null;
    });
  }

  async stop(): Promise<void> {
    await this.#do(() => stopSizes(this.job));
  }

  async write(): Promise<void> {
    this.writing = true;
    this.written = null;
    const count = this.told?.made?.count;
    await this.#do(async () => {
      const written = await writeSizes(this.job);
      if (count === this.told?.made?.count) this.written = written;
    });
    this.writing = false;
  }

  pick(name: string): void {
    this.#picked = name;
    void this.#fetchShown(name);
  }

  /** Goes `by` sizes on; stays at the ends. */
  step(by: number): void {
    const next = this.neighbour(by);
    if (next) this.pick(next.name);
  }

  neighbour(by: number): SizePiece | null {
    const at = this.along.findIndex(({ name }) => name === this.#picked);
    return at < 0 ? null : (this.along[at + by] ?? null);
  }

  /** The same size for another foot or in another fitting. */
  turn(to: Partial<Pick<SizePiece, "foot" | "fitting">>): void {
    const from = this.picked;
    if (!from) return;
    const wanted = { foot: from.foot, fitting: from.fitting, ...to };
    const found = this.pieces.find(
      ({ size, foot, fitting }) => size === from.size && foot === wanted.foot && fitting === wanted.fitting,
    );
    if (found) this.pick(found.name);
  }

  async #fetchTogether(count: number): Promise<void> {
    await this.#do(async () => {
      const told = await together(this.job);
      if (told.count === this.told?.made?.count && told.count === count) this.together = told;
    });
  }

  async #fetchShown(name: string): Promise<void> {
    const count = this.told?.made?.count;
    const kept = this.#kept.get(name);
    if (kept || count === undefined || this.picked?.trouble) {
      this.shown = kept ?? null;
      return;
    }
    await this.#do(async () => {
      const [piece, report] = await Promise.all([sizePiece(this.job, name), sizeReport(this.job, name)]);
      if (count !== this.told?.made?.count) return;
      const shown = { ...report, piece, name, count };
      this.#kept.set(name, shown);
      if (this.#picked === name) this.shown = shown;
    });
  }

  async #do(what: () => Promise<unknown>): Promise<void> {
    this.trouble = null;
    try {
      await what();
    } catch (thrown) {
      this.trouble = troubleOf(thrown, tongue.words.start.cannotReach);
    }
  }
}

function same(one: AskSizes | null, other: AskSizes | null): boolean {
  const key = (asked: AskSizes | null) =>
    asked && [asked.from, asked.to, asked.halves, [...asked.fittings].sort(), [...asked.feet].sort()];
  return JSON.stringify(key(one)) === JSON.stringify(key(other));
}

/** The size of `ends` at or after `size`, which is one of `all`. */
function after(all: string[], ends: string[], size: string): string {
  const at = all.indexOf(size);
  return ends.find((end) => all.indexOf(end) >= at) ?? ends[ends.length - 1];
}
