// What the hand holds: the mark or handle that is being moved, by pointer or by keys.
import { Dragging, type DragTo } from "../talk/dragging";
import type { Handle, Told, Trouble, Vec3 } from "../wire";
import type { Bench } from "./bench.svelte";

type Dragged = Extract<Told, { tell: "dragged" }>;

/** Something in the hand, as it shows before the job has it. */
export interface Held {
  /** The key of the mark or of the entry. */
  key: string;
  at: Vec3 | null;
  value: number | null;
  trouble: Trouble | null;
}

/** Keys pressed within this time are one move, and undone as one. */
const KEYS_REST_MS = 700;

export class Hands {
  held: Held | null = $state(null);
  /** Where a mark was put down: it shows there until what follows from it is worked out. */
  #landed: { key: string; at: Vec3 } | null = $state.raw(null);
  #dragging: Dragging | null = null;
  /** Let go, but the job has not answered yet. */
  #dropped: number | null = null;
  /** Let go while a message was still unanswered: they end when it is. */
  #ending = new Map<number, Dragging>();
  #drags = 0;
  #rest = 0;
  #moved = false;
  /** The handle as it was when it was taken. */
  #grip: Handle | null = null;

  constructor(private readonly bench: Bench) {}

  take(key: string): void {
    if (this.#dragging && this.held?.key === key && this.#dropped === null) return;
    this.drop();
    this.land();
    this.#dropped = null;
    this.#drags += 1;
    this.#dragging = new Dragging(this.#drags, (said) => this.bench.say(said));
    this.#moved = false;
    this.held = { key, at: null, value: null, trouble: null };
    this.bench.refused = null;
  }

  /** Moves what is held; `shown` is where it shows until the program says better. */
  move(to: DragTo, shown: { at: Vec3 | null; value: number | null }): void {
    if (!this.#dragging || !this.held || this.#dropped !== null) return;
    this.#moved = true;
    Object.assign(this.held, shown);
    this.#dragging.move(to);
  }

  /** One step by a key: takes it, moves it, and lets go when the keys rest. */
  nudge(key: string, to: DragTo, shown: { at: Vec3 | null; value: number | null }): void {
    this.take(key);
    this.move(to, shown);
    clearTimeout(this.#rest);
    this.#rest = window.setTimeout(() => this.drop(), KEYS_REST_MS);
  }

  takeHandle(handle: Handle): void {
    this.take(handle.key);
    this.#grip = handle;
  }

  /** The handle taken is now `by` mm from where it was. */
  pullHandle(by: number): void {
    if (this.#grip) this.move(...valued(this.#grip, this.#grip.value + by));
  }

  nudgeHandle(handle: Handle, by: number): void {
    const from = this.held?.key === handle.key ? (this.held.value ?? handle.value) : handle.value;
    this.nudge(handle.key, ...valued(handle, from + by));
  }

  drop(): void {
    clearTimeout(this.#rest);
    const dragging = this.#dragging;
    if (!dragging || this.#dropped !== null) return;
    if (!this.#moved) {
      this.leave();
      return;
    }
    this.#dropped = this.bench.nextId();
    this.bench.await(this.#dropped, (answer) => {
      this.#ending.delete(dragging.drag);
      if (answer.tell === "refused") {
        this.bench.refused = answer.trouble;
        this.bench.showSettled();
      }
      if (this.#dragging !== dragging) return;
      if (answer.tell === "done" && this.held?.at) this.#landed = { key: this.held.key, at: this.held.at };
      this.#clear();
    });
    this.#ending.set(dragging.drag, dragging);
    dragging.drop(this.#dropped);
  }

  /** Escape. */
  leave(): void {
    clearTimeout(this.#rest);
    if (!this.#dragging || this.#dropped !== null) return;
    this.#dragging.leave();
    this.#clear();
    this.bench.showSettled();
  }

  /** The line broke: the drag is over, nothing was moved. */
  lost(): void {
    clearTimeout(this.#rest);
    this.land();
    for (const dragging of this.#ending.values()) dragging.leave();
    this.#ending.clear();
    if (!this.#dragging) return;
    this.#dragging.leave();
    this.#clear();
    this.bench.showSettled();
  }

  dragged(told: Dragged): void {
    const ending = this.#ending.get(told.drag);
    if (ending) {
      ending.answered();
      return;
    }
    if (told.drag !== this.#drags || !this.#dragging || !this.held) return;
    if (this.#dragging.idle) {
      if (told.at) this.held.at = told.at;
      if (told.value !== null) this.held.value = told.value;
    }
    this.held.trouble = told.trouble;
    this.#dragging.answered();
  }

  /** Where the mark of `key` shows before the job says so; null where nothing runs ahead of it. */
  ahead(key: string): Vec3 | null {
    return (this.held?.key === key ? this.held.at : null) ?? (this.#landed?.key === key ? this.#landed.at : null);
  }

  /** A mark was put down at a typed place. */
  put(key: string, at: Vec3): void {
    this.#landed = { key, at };
  }

  /** What was put down shows where the job says. */
  land(): void {
    this.#landed = null;
  }

  /** Whether a piece that follows drag `drag` is still wanted. */
  holds(drag: number): boolean {
    return this.#dragging !== null && drag === this.#drags;
  }

  #clear(): void {
    this.#dragging = null;
    this.#dropped = null;
    this.held = null;
  }
}

/** To a tenth of a millimetre: nobody reads more off a ruler. Beyond its range a handle stops. */
function valued(handle: Handle, wanted: number): [DragTo, { at: null; value: number }] {
  const inside = Math.min(Math.max(wanted, handle.least), handle.most);
  const value = Math.round(inside * 10) / 10;
  return [{ entry: handle.key, value }, { at: null, value }];
}
