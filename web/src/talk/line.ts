// The line to the program: one WebSocket per job, taken up again when it breaks.
import type { Said, Told } from "../wire";
import { readPiece, type Piece } from "./piece_bytes";

export interface Hears {
  told(told: Told): void;
  piece(piece: Piece): void;
  /** `open` when messages go through; `gone` when it has stayed away for a while. */
  standing(standing: "open" | "lost" | "gone"): void;
}

/** After this long without the program the user is told; shorter gaps mend themselves. */
const PATIENCE_MS = 3000;
const RETRY_MS = [250, 500, 1000, 2000];

/** What is sent again after a break: setting a value twice does no harm, undoing twice would. */
type Safe = Extract<Said, { say: "edit" | "typed" | "lengths" }>;

export class Line {
  #socket: WebSocket | null = null;
  #tries = 0;
  #lostSince: number | null = null;
  #timer = 0;
  #closed = false;
  #next = 1;
  #unanswered = new Map<number, Safe>();

  constructor(
    private readonly job: string,
    private readonly hears: Hears,
  ) {
    this.#connect();
  }

  id(): number {
    return this.#next++;
  }

  /** Sends, or keeps what may safely be sent later. False where it was dropped. */
  say(said: Said): boolean {
    const keep = said.say === "edit" || said.say === "lengths" || (said.say === "typed" && said.keep);
    if (keep) this.#unanswered.set(said.id, said);
    if (this.#socket?.readyState !== WebSocket.OPEN) return keep;
    this.#socket.send(JSON.stringify(said));
    return true;
  }

  /** Whether message `id` will be sent again after a break. */
  keeps(id: number): boolean {
    return this.#unanswered.has(id);
  }

  close(): void {
    this.#closed = true;
    clearTimeout(this.#timer);
    this.#socket?.close();
  }

  #connect(): void {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(
      `${scheme}://${location.host}/api/jobs/${encodeURIComponent(this.job)}/live`,
    );
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.#tries = 0;
      this.#lostSince = null;
      this.hears.standing("open");
      for (const said of this.#unanswered.values()) socket.send(JSON.stringify(said));
    };
    socket.onmessage = (message) => this.#hear(message.data as string | ArrayBuffer);
    socket.onclose = () => this.#lost();
    this.#socket = socket;
  }

  #hear(data: string | ArrayBuffer): void {
    if (typeof data !== "string") {
      this.hears.piece(readPiece(data));
      return;
    }
    const told = JSON.parse(data) as Told;
    if (told.tell === "done" || told.tell === "refused" || told.tell === "understood") this.#unanswered.delete(told.id);
    this.hears.told(told);
  }

  #lost(): void {
    if (this.#closed) return;
    this.#lostSince ??= performance.now();
    const gone = performance.now() - this.#lostSince > PATIENCE_MS;
    this.hears.standing(gone ? "gone" : "lost");
    const wait = RETRY_MS[Math.min(this.#tries++, RETRY_MS.length - 1)];
    this.#timer = window.setTimeout(() => this.#connect(), wait);
  }
}
