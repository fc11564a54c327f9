// One drag of a mark or a handle: never more than one unanswered message, the latest place wins.
import type { Said, Vec3 } from "../wire";

export type DragTo =
  | { mark: string; ray: { from: Vec3; along: Vec3 } }
  | { mark: string; to: Vec3 }
  | { entry: string; value: number };

/** A message that gets no answer for this long is taken as lost, so that a drag cannot hang. */
const LOST_MS = 2000;

export class Dragging {
  #waiting: DragTo | null = null;
  #unanswered = false;
  #ending: (() => void) | null = null;
  #over = false;
  #timer = 0;

  /** `drag` tells this drag from others; `say` sends to the program. */
  constructor(
    readonly drag: number,
    private readonly say: (said: Said) => void,
  ) {}

  /** Where it is now. Sent at once if the last message was answered, else when it is. */
  move(to: DragTo): void {
    if (this.#over || this.#ending) return;
    this.#waiting = to;
    this.#send();
  }

  /** Whether nothing newer waits to be sent: then what the program answers is the latest. */
  get idle(): boolean {
    return this.#waiting === null;
  }

  /** The program answered the message under way. */
  answered(): void {
    clearTimeout(this.#timer);
    this.#unanswered = false;
    this.#send();
    if (!this.#unanswered) this.#ending?.();
  }

  /** Let go: the last place becomes an edit, after it was sent and answered. */
  drop(id: number): void {
    if (this.#over || this.#ending) return;
    this.#ending = () => {
      this.#ending = null;
      this.#over = true;
      this.say({ say: "drop", id, drag: this.drag });
    };
    if (!this.#unanswered && !this.#waiting) this.#ending();
  }

  /** Escape: as if nothing had been dragged. */
  leave(): void {
    if (this.#over) return;
    this.#over = true;
    this.#ending = null;
    this.#waiting = null;
    clearTimeout(this.#timer);
    this.say({ say: "leave", drag: this.drag });
  }

  #send(): void {
    if (this.#over || this.#unanswered || !this.#waiting) return;
    const to = this.#waiting;
    this.#waiting = null;
    this.#unanswered = true;
    this.#timer = setTimeout(() => this.answered(), LOST_MS) as unknown as number;
    this.say({ say: "drag", drag: this.drag, ...to });
  }
}
