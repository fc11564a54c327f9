// Rings and names over a view: they point, and take no touch.

/** Room taken on a view, px. */
export interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** About how wide a name is, px: measuring each would lay the page out again and again. */
export const widthOf = (text: string): number => text.length * 7.5 + 22;

export const overlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** How far over its line the name of a limit may stand, px, best first. */
const LIFTS = [34, -8, 64, -38, 94];

export interface Note {
  kind: "ring" | "point" | "limit" | "length";
  text: string;
}

export class Overlay {
  #notes: { note: Note; element: HTMLElement }[] = [];

  constructor(private readonly layer: HTMLElement) {}

  set(notes: Note[]): void {
    for (const { element } of this.#notes) element.remove();
    this.#notes = notes.map((note) => {
      const element = document.createElement("div");
      element.className = `note ${note.kind}`;
      // The same is said in the lists beside the view.
      element.setAttribute("aria-hidden", "true");
      if (note.text) {
        const text = document.createElement("span");
        text.textContent = note.text;
        element.append(text);
      }
      this.layer.append(element);
      return { note, element };
    });
  }

  /** Puts note `i` at these pixels; null hides it. Names of limits look for room that is not taken. */
  place(taken: Box[], project: (i: number) => { x: number; y: number } | null): void {
    const full = [...taken];
    this.#notes.forEach(({ note, element }, i) => {
      const at = project(i);
      element.hidden = !at;
      if (!at) return;
      element.style.transform = `translate(${at.x}px, ${at.y}px)`;
      if (note.kind !== "limit") return;
      const half = widthOf(note.text) / 2;
      const boxes = LIFTS.map((lift) => ({
        left: at.x - half,
        right: at.x + half,
        top: at.y - lift,
        bottom: at.y - lift + 26,
      }));
      const free = boxes.findIndex((box) => !full.some((other) => overlap(box, other)));
      const chosen = Math.max(free, 0);
      full.push(boxes[chosen]);
      element.style.setProperty("--lift", `${-LIFTS[chosen]}px`);
    });
  }
}
