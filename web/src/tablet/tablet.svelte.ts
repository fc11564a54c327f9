// The tablet at the bench, as this page knows it: whether it is switched here, and what was told last.
import { askTablet, switchTablet, troubleOf } from "../talk/ask";
import type { TabletTold, Trouble } from "../wire";
import { tongue } from "../words/tongue.svelte";

class Tablet {
  /** Null until it is known, and on a tablet, which switches nothing. */
  told: TabletTold | null = $state.raw(null);
  /** Whether this page itself is shown by a tablet. */
  isHere = $state(false);
  /** Why it could not be switched. */
  trouble: Trouble | null = $state(null);
  /** Whether the program does not answer any more. */
  away = $state(false);
  busy = $state(false);

  /** Of several questions under way, the answer to the latest counts. */
  #turn = 0;

  /** Asks once, when the page is new. */
  begin(): void {
    if (!this.told && !this.isHere) void this.ask();
  }

  async ask(): Promise<void> {
    if (this.busy) return;
    const turn = ++this.#turn;
    try {
      const told = await askTablet();
      if (turn !== this.#turn) return;
      this.told = told;
      this.isHere = told === null;
      this.away = false;
    } catch {
      if (turn === this.#turn) this.away = true;
    }
  }

  /** Switches it on, or asks for a new code; or switches it off. */
  async switch(on: boolean): Promise<void> {
    ++this.#turn;
    this.busy = true;
    this.trouble = null;
    try {
      this.told = await switchTablet(on);
      this.away = false;
    } catch (thrown) {
      this.trouble = troubleOf(thrown, tongue.words.start.cannotReach);
    } finally {
      this.busy = false;
    }
  }
}

export const tablet = new Tablet();
