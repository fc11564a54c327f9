// Whether the guide is open and at which step, through a reload of the page; and whether it was
// offered already.
import { STEPS } from "./steps";

const KEPT = "featherline.guide";
const OFFERED = "featherline.guide.offered";

class Guide {
  open = $state(false);
  step = $state(0);
  /** Whether the line that offers the guide is still to be shown. */
  offer = $state(localStorage.getItem(OFFERED) === null);
  /** The heading is to get the focus: the guide was opened, or the page beside it changed. */
  wantsFocus = $state(false);
  #opener: HTMLElement | null = null;

  constructor() {
    try {
      const kept = JSON.parse(localStorage.getItem(KEPT) ?? "{}") as Partial<Guide>;
      this.open = kept.open === true;
      if (Number.isInteger(kept.step)) this.step = inside(kept.step as number);
    } catch {
      // What is kept there is not ours: begin anew.
    }
  }

  show(): void {
    this.putOffer();
    this.#opener = document.activeElement instanceof HTMLElement ? document.activeElement : null;
    this.open = true;
    this.wantsFocus = true;
    this.#keep();
  }

  close(): void {
    this.open = false;
    this.#keep();
    // The line that offered it is gone with the opening, and another page has another button.
    const button = document.querySelector<HTMLElement>("[data-guide]");
    (this.#opener?.isConnected ? this.#opener : button)?.focus();
  }

  toggle(): void {
    if (this.open) this.close();
    else this.show();
  }

  turn(by: number): void {
    this.step = inside(this.step + by);
    this.#keep();
  }

  putOffer(): void {
    this.offer = false;
    localStorage.setItem(OFFERED, "no more");
  }

  #keep(): void {
    localStorage.setItem(KEPT, JSON.stringify({ open: this.open, step: this.step }));
  }
}

const inside = (step: number): number => Math.min(Math.max(step, 0), STEPS.length - 1);

export const guide = new Guide();
