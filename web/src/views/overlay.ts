// Rings and names over a view: they point, and take no touch.

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

  /** Puts note `i` at these pixels; null hides it. */
  place(project: (i: number) => { x: number; y: number } | null): void {
    this.#notes.forEach(({ element }, i) => {
      const at = project(i);
      element.hidden = !at;
      if (at) element.style.transform = `translate(${at.x}px, ${at.y}px)`;
    });
  }
}
