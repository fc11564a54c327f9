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

  /** Puts note `i` at these pixels; null hides it. Gives the room that names take. */
  place(project: (i: number) => { x: number; y: number } | null): Box[] {
    const taken: Box[] = [];
    this.#notes.forEach(({ note, element }, i) => {
      const at = project(i);
      element.hidden = !at;
      if (!at) return;
      element.style.transform = `translate(${at.x}px, ${at.y}px)`;
      if (note.kind !== "limit") return;
      const half = widthOf(note.text) / 2;
      taken.push({ left: at.x - half, right: at.x + half, top: at.y - 30, bottom: at.y - 4 });
    });
    return taken;
  }
}
