// The job on the bench: what the program told last, and the ways to tell it something.
import { shelf, Troubled } from "../talk/ask";
import { Line } from "../talk/line";
import type { Piece } from "../talk/piece_bytes";
import type { Command, Entry, MarkTold, Said, State, Told, Trouble } from "../wire";
import { tongue } from "../words/tongue.svelte";
import { Drafts } from "./drafts.svelte";
import { Hands } from "./hands.svelte";
import { Sizes } from "./sizes.svelte";
import { Spot } from "./spot.svelte";

type Answer = Extract<Told, { tell: "done" | "refused" | "understood" }>;

/** A step under way or through. */
export interface Step {
  words: string;
  through: boolean;
}

/** Long enough to read that someone else changed the job; it is no reason to act. */
const QUIET_MS = 15_000;

export class Bench {
  state: State | null = $state.raw(null);
  /** The piece to be shown: while something is dragged it runs ahead of the job. */
  piece: Piece | null = $state.raw(null);
  standing: "open" | "lost" | "gone" = $state("lost");
  steps: Step[] = $state([]);
  /** Someone else changed the job. */
  elsewhere: string | null = $state(null);
  /** Why the job cannot be worked on at all. */
  broken: Trouble | null = $state(null);
  /** Why the last thing asked for was not done. */
  refused: Trouble | null = $state(null);
  /** Edits that the program has not answered yet. */
  pending = $state(0);

  readonly drafts: Drafts;
  readonly hands: Hands;
  readonly sizes: Sizes;
  readonly spot = new Spot();

  readonly entries: Map<string, Entry> = $derived(
    new Map(this.state?.entries.map((entry) => [entry.key, entry])),
  );

  /** The marks, by whom they are set as the job says now, be it worked out or not. */
  readonly marks: MarkTold[] = $derived(
    (this.state?.last?.marks ?? []).map((mark) => {
      const entered = this.entries.get(mark.key)?.entered;
      return { ...mark, by: entered == null ? "found" : "user" };
    }),
  );

  #line: Line;
  #answers = new Map<number, (answer: Answer) => void>();
  #awaited = new Set<number>();
  #quiet = 0;
  #settled: Piece | null = null;

  constructor(readonly job: string) {
    this.drafts = new Drafts(this);
    this.hands = new Hands(this);
    this.sizes = new Sizes(job);
    this.#line = new Line(job, {
      told: (told) => this.#told(told),
      piece: (piece) => this.#pieceTold(piece),
      standing: (standing) => this.#stands(standing),
    });
  }

  close(): void {
    this.#line.close();
  }

  /** `kept` is called when the job has it, not when it was refused. */
  edit(commands: Command[], kept?: () => void): void {
    this.hands.land();
    this.refused = null;
    this.ask((id) => ({ say: "edit", id, commands }), (answer) => {
      this.#judge(answer);
      if (answer.tell === "done") kept?.();
    });
  }

  /** Takes an entry away, so that the rule counts again. */
  backToRule(key: string): void {
    this.drafts.forget(key);
    this.edit([{ set: key, to: null }]);
  }

  undo(): void {
    this.hands.leave();
    this.hands.land();
    this.refused = null;
    this.ask((id) => ({ say: "undo", id }), (answer) => this.#judge(answer));
  }

  redo(): void {
    this.hands.leave();
    this.hands.land();
    this.refused = null;
    this.ask((id) => ({ say: "redo", id }), (answer) => this.#judge(answer));
  }

  /** Says something that is answered; `hear` may be called more than once. */
  ask(make: (id: number) => Said, hear: (answer: Answer) => void): void {
    const id = this.#line.id();
    const said = make(id);
    if (said.say === "lengths" || (said.say === "typed" && !said.keep)) this.#answers.set(id, hear);
    else this.await(id, hear);
    if (!this.#line.say(said)) this.#forget(id);
  }

  /** Reads lengths as people type them, `2,5 cm` too, in millimetres. */
  lengths(texts: string[], read: (mm: number[]) => void, refused: (why: Trouble) => void): void {
    this.ask(
      (id) => ({ say: "lengths", id, texts }),
      (answer) => {
        if (answer.tell === "understood") read(answer.value as number[]);
        else if (answer.tell === "refused") refused(answer.trouble);
      },
    );
  }

  /** Waits for what comes of message `id`; until then the job counts as not saved. */
  await(id: number, hear: (answer: Answer) => void): void {
    this.#awaited.add(id);
    this.pending = this.#awaited.size;
    this.#answers.set(id, hear);
  }

  say(said: Said): void {
    this.#line.say(said);
  }

  nextId(): number {
    return this.#line.id();
  }

  /** Shows the piece as it is cut, after a drag that came to nothing. */
  showSettled(): void {
    this.piece = this.#settled;
  }

  #forget(id: number): void {
    this.#answers.delete(id);
    this.#awaited.delete(id);
    this.pending = this.#awaited.size;
  }

  #judge(answer: Answer): void {
    if (answer.tell !== "refused") return;
    this.refused = answer.trouble;
    this.hands.land();
  }

  #told(told: Told): void {
    switch (told.tell) {
      case "state":
        this.state = told;
        this.broken = null;
        break;
      case "sizes":
        this.sizes.hear(told, this.state?.last?.foot ?? null);
        break;
      case "doing":
        this.#does(told.doing);
        break;
      case "dragged":
        this.hands.dragged(told);
        break;
      case "elsewhere":
        this.elsewhere = told.words;
        clearTimeout(this.#quiet);
        this.#quiet = window.setTimeout(() => (this.elsewhere = null), QUIET_MS);
        break;
      case "broken":
        this.broken = told.trouble;
        break;
      default: {
        const answer = this.#answers.get(told.id);
        if (told.tell !== "understood") this.#forget(told.id);
        answer?.(told);
      }
    }
  }

  #pieceTold(piece: Piece): void {
    if (piece.drag === null) this.#settled = piece;
    else if (piece.drag === 0 ? !this.#runsAhead(piece) : !this.hands.holds(piece.drag)) return;
    this.piece = piece;
  }

  /** Whether a piece shows an edit before it is worked out, and nothing in the hand shows more. */
  #runsAhead(piece: Piece): boolean {
    return this.hands.held === null && piece.revision > (this.#settled?.revision ?? Infinity);
  }

  #does(doing: string | null): void {
    if (doing === null) {
      this.steps = [];
      this.hands.land();
      return;
    }
    const through = this.steps.map((step) => ({ ...step, through: true }));
    this.steps = [...through.filter((step) => step.words !== doing), { words: doing, through: false }];
  }

  #stands(standing: "open" | "lost" | "gone"): void {
    if (this.standing === "open" && standing !== "open") {
      this.hands.lost();
      this.steps = [];
      // What is not sent again will not be answered either.
      for (const id of [...this.#awaited]) if (!this.#line.keeps(id)) this.#forget(id);
    }
    this.standing = standing;
    if (standing !== "open" && this.state === null) void this.#askWhy();
  }

  /** A line that never stood says nothing: whether the job is there, the shelf knows. */
  async #askWhy(): Promise<void> {
    try {
      const told = await shelf();
      const job = told.jobs.find(({ job }) => job === this.job);
      if (!job) this.broken = { message: tongue.words.start.noSuchJob(this.job), hint: told.folder, entries: [], own: true };
      else if (job.trouble) this.broken = job.trouble;
    } catch (thrown) {
      // Where it does not answer at all, the notice of the line says so.
      if (thrown instanceof Troubled) this.broken = thrown.trouble;
    }
  }
}
