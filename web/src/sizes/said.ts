// A size as a person calls it.
import type { SizePiece } from "../wire";
import { tongue } from "../words/tongue.svelte";

export function sizeSaid({ size, fitting, foot }: Pick<SizePiece, "size" | "fitting" | "foot">): string {
  const { sizes, feet } = tongue.words;
  const plain = tongue.decimal(size);
  return sizes.piece(fitting === null ? plain : sizes.fitted(plain, fitting), feet[foot]);
}
