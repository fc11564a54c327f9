// The scan on the table: sent, read, looked at, not a job yet.
import { scanMesh, sendScan, troubleOf } from "../talk/ask";
import type { Mesh } from "../talk/mesh_bytes";
import type { ScanRead, Trouble } from "../wire";
import { tongue } from "../words/tongue.svelte";

class Table {
  file: File | null = $state.raw(null);
  /** How much of it was sent, 0 to 1. */
  sent = $state(0);
  read: ScanRead | null = $state.raw(null);
  mesh: Mesh | null = $state.raw(null);
  trouble: Trouble | null = $state(null);

  async lay(file: File): Promise<void> {
    this.clear();
    this.file = file;
    try {
      const read = await sendScan(file, (part) => {
        if (this.file === file) this.sent = part;
      });
      if (this.file !== file) return;
      this.read = read;
      const mesh = await scanMesh(read.scan);
      if (this.file === file) this.mesh = mesh;
    } catch (thrown) {
      if (this.file === file) this.trouble = troubleOf(thrown, tongue.words.start.cannotReach);
    }
  }

  clear(): void {
    this.file = null;
    this.sent = 0;
    this.read = null;
    this.mesh = null;
    this.trouble = null;
  }
}

export const table = new Table();
