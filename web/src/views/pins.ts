// Marks and handles as buttons over a view: found, moved and read out like any other control.
import { overlap, widthOf, type Box } from "./overlay";

export interface Pin {
  /** The key that it stands for. */
  id: string;
  look: "found" | "yours" | "handle" | "end";
  /** Written beside it. */
  name: string;
  /** Read out: the name with its value or place. */
  said: string;
  chosen: boolean;
}

export interface PinHears {
  choose(id: string): void;
  /** Taken by the pointer. False where it cannot be moved. */
  take(id: string): boolean;
  /** The pin's own point is now at these pixels of the view. */
  move(id: string, x: number, y: number): void;
  drop(id: string): void;
  leave(id: string): void;
  /** A key on the focused pin. True where it was used. */
  key(id: string, event: KeyboardEvent): boolean;
}

/** Where a pin is on its view, px. */
export interface Projected {
  x: number;
  y: number;
  hidden: boolean;
  /** For a handle: clockwise from upright to the way in which its number grows. */
  turn?: number;
}

interface Shown {
  pin: Pin;
  button: HTMLButtonElement;
  shape: HTMLSpanElement;
  name: HTMLSpanElement;
  x: number;
  y: number;
  hidden: boolean;
}

/** A pin under the pointer: where it was taken, and how far from its own point. */
interface Grip {
  shown: Shown;
  x: number;
  y: number;
  dx: number;
  dy: number;
  moved: boolean;
}

export type NameSide = "right" | "left" | "over" | "under";

/** Width of a pin's button, px. */
const PIN = 44;

/** One step by a key, and with Shift, mm. */
export const STEP = 0.5;
export const BIG_STEP = 5;

/** A tap wanders a little; only beyond this is it a drag, px. */
const TAP = 4;

export class Pins {
  #shown = new Map<string, Shown>();
  #grip: Grip | null = null;

  constructor(
    private readonly layer: HTMLElement,
    /** Where a name may stand beside its pin, best first. */
    private readonly sides: readonly NameSide[],
    private readonly hears: PinHears,
  ) {}

  set(pins: Pin[]): void {
    const wanted = new Set(pins.map((pin) => pin.id));
    for (const [id, shown] of this.#shown) {
      // One that is held stays until it is let go, or the hand would hold nothing.
      if (wanted.has(id) || shown.button.classList.contains("held")) continue;
      shown.button.remove();
      this.#shown.delete(id);
    }
    for (const pin of pins) {
      const shown = this.#shown.get(pin.id) ?? this.#make(pin);
      shown.pin = pin;
      const held = shown.button.classList.contains("held");
      shown.button.className = `pin ${pin.look}`;
      shown.button.classList.toggle("held", held);
      shown.button.classList.toggle("chosen", pin.chosen);
      shown.button.setAttribute("aria-label", pin.said);
      shown.button.setAttribute("aria-pressed", String(pin.chosen));
      shown.name.textContent = pin.name;
    }
  }

  focus(id: string): void {
    this.#shown.get(id)?.button.focus({ preventScroll: true });
  }

  /**
   * Puts the pins where `project` says, px; null where they are out of sight. Gives the room that
   * pins and names take.
   */
  place(project: (id: string) => Projected | null): Box[] {
    const { clientWidth: width, clientHeight: height } = this.layer;
    const taken: Box[] = [];
    const inOrder = [...this.#shown.values()].sort((a, b) => Number(b.pin.chosen) - Number(a.pin.chosen));
    for (const shown of inOrder) {
      const at = project(shown.pin.id);
      const inside = at !== null && at.x >= 0 && at.y >= 0 && at.x <= width && at.y <= height;
      // Kept inside, for a focused control outside its frame would scroll the frame.
      shown.x = Math.min(Math.max(at?.x ?? 0, 0), width);
      shown.y = Math.min(Math.max(at?.y ?? 0, 0), height);
      shown.button.style.transform = `translate(${shown.x}px, ${shown.y}px)`;
      shown.hidden = !inside || at.hidden;
      shown.button.classList.toggle("behind", shown.hidden);
      if (at?.turn !== undefined) shown.shape.style.rotate = `${at.turn}rad`;
      if (!shown.hidden) taken.push(around(shown));
    }
    for (const shown of inOrder) {
      const rooms = this.sides.map((side) => ({ side, box: nameRoom(shown, side, width) }));
      const within = rooms.filter(({ box: { left, right, top, bottom } }) => left >= 0 && right <= width && top >= 0 && bottom <= height);
      const free = within.find(({ box }) => !taken.some((other) => overlap(box, other)));
      // Names that would cover another name stay away until their pin is chosen or pointed at.
      const named = !shown.hidden && (shown.pin.chosen || free !== undefined);
      const { side, box } = free ?? within[0] ?? rooms[0];
      shown.button.dataset.name = side;
      shown.name.style.setProperty("--left", `${box.left - shown.x + PIN / 2}px`);
      shown.button.classList.toggle("unnamed", !named);
      if (named) taken.push(box);
    }
    return taken;
  }

  #make(pin: Pin): Shown {
    const button = document.createElement("button");
    button.type = "button";
    const shape = document.createElement("span");
    shape.className = "shape";
    const name = document.createElement("span");
    name.className = "name";
    button.append(shape, name);
    this.layer.append(button);
    const shown: Shown = { pin, button, shape, name, x: 0, y: 0, hidden: true };
    this.#shown.set(pin.id, shown);
    this.#listen(shown);
    return shown;
  }

  /** Fingertips of pins that lie close cover each other: what is meant is the nearest. */
  #meant(pressed: Shown, at: { x: number; y: number }): Shown {
    const far = (shown: Shown) => Math.hypot(shown.x - at.x, shown.y - at.y);
    let best = pressed;
    for (const shown of this.#shown.values()) if (!shown.hidden && far(shown) < far(best)) best = shown;
    return best;
  }

  #listen(shown: Shown): void {
    const { button } = shown;
    const here = (event: PointerEvent) => {
      const box = this.layer.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    button.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      event.stopPropagation();
      const at = here(event);
      const meant = this.#meant(shown, at);
      meant.button.setPointerCapture(event.pointerId);
      meant.button.focus({ preventScroll: true });
      this.#grip = { shown: meant, ...at, dx: meant.x - at.x, dy: meant.y - at.y, moved: false };
    });
    button.addEventListener("pointermove", (event) => {
      const grip = this.#grip;
      if (grip?.shown !== shown) return;
      const at = here(event);
      if (!grip.moved) {
        if (Math.hypot(at.x - grip.x, at.y - grip.y) < TAP) return;
        if (!this.hears.take(shown.pin.id)) return;
        grip.moved = true;
        button.classList.add("held");
      }
      this.hears.move(shown.pin.id, at.x + grip.dx, at.y + grip.dy);
    });
    const end = (dropped: boolean) => {
      button.classList.remove("held");
      const grip = this.#grip;
      if (grip?.shown !== shown) return;
      this.#grip = null;
      if (grip.moved && dropped) this.hears.drop(shown.pin.id);
      if (grip.moved && !dropped) this.hears.leave(shown.pin.id);
    };
    button.addEventListener("pointerup", () => end(true));
    button.addEventListener("pointercancel", () => end(false));
    button.addEventListener("focus", () => this.hears.choose(shown.pin.id));
    button.addEventListener("blur", () => this.hears.drop(shown.pin.id));
    button.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        end(false);
        this.hears.leave(shown.pin.id);
      } else if (!event.ctrlKey && !event.metaKey && !event.altKey && this.hears.key(shown.pin.id, event)) {
        event.preventDefault();
        event.stopPropagation();
      }
    });
  }
}

/** The room that the name takes on that side of a view of that width, px. */
function nameRoom({ x, y, pin }: Shown, side: NameSide, width: number): Box {
  const wide = widthOf(pin.name);
  if (side === "over" || side === "under") {
    const top = side === "over" ? y - 42 : y + 16;
    const left = Math.max(Math.min(x - wide / 2, width - wide), 0);
    return { left, right: left + wide, top, bottom: top + 26 };
  }
  const left = side === "right" ? x + 12 : x - 12 - wide;
  return { left, right: left + wide, top: y - 13, bottom: y + 13 };
}

/** The room of the pin itself. */
const around = ({ x, y }: Shown): Box => ({ left: x - 10, right: x + 10, top: y - 12, bottom: y + 12 });
