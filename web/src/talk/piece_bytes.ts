// The piece as the program sends it: words as JSON, and the wall as numbers behind it.
import type { PieceTold } from "../wire";

export interface Piece extends PieceTold {
  wall: Wall;
}

/** The wall of the piece, on the last and laid flat, with the same triangles. */
export interface Wall {
  /** Three numbers a vertex, on the bare last, mm. */
  onLast: Float32Array;
  /** Two numbers a vertex, on the flat piece, mm, y up. */
  flat: Float32Array;
  /** Percent, one a triangle: positive must stretch, negative is fullness. */
  strain: Float32Array;
  /** Three corners a triangle. */
  corners: Uint32Array;
}

/** Reads the bytes of a piece. Throws where they are cut short. */
export function readPiece(bytes: ArrayBuffer): Piece {
  const view = new DataView(bytes);
  const length = view.getUint32(0, true);
  const told = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length))) as PieceTold;
  // The program pads the words, so that the numbers stand on a multiple of four.
  let at = 4 + Math.ceil(length / 4) * 4;
  const n = view.getUint32(at, true);
  const m = view.getUint32(at + 4, true);
  at += 8;
  const take = (count: number) => {
    const from = at;
    at += 4 * count;
    return bytes.slice(from, at);
  };
  const wall = {
    onLast: new Float32Array(take(3 * n)),
    flat: new Float32Array(take(2 * n)),
    strain: new Float32Array(take(m)),
    corners: new Uint32Array(take(3 * m)),
  };
  if (wall.corners.length !== 3 * m) throw new Error("the piece is cut short");
  return { ...told, wall };
}
