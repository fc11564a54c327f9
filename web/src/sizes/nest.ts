// All sizes over each other, drawn as one piece without a wall: the picked one in front.
import type { Piece } from "../talk/piece_bytes";
import type { Drawn } from "../views/flat/drawing";
import type { Together } from "../wire";

type Nest = Together["nests"][number];

export function nestPiece({ pieces, bounds }: Nest, picked: string): Piece {
  const front = pieces.filter(({ name }) => name === picked);
  const back = pieces.filter(({ name }) => name !== picked);
  const drawing: Drawn[] = [
    ...back.flatMap(({ drawing }) => drawing.map((item) => ({ ...item, faint: true }))),
    ...front.flatMap(({ drawing }) => drawing),
  ];
  const none = new Float32Array(0);
  const wall = { onLast: none, flat: none, strain: none, corners: new Uint32Array(0) };
  return { tell: "piece", revision: 0, drag: null, limits: null, edge: [], ceilings: [], handles: [], drawing, bounds, wall };
}
