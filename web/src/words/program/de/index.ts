// What the program says, in German: each of its sentences, or the pattern of one, with its translation.
import type { Catalogue } from "../../said";
import { last } from "./last";
import { piece } from "./piece";
import { range } from "./range";
import { scan } from "./scan";
import { work } from "./work";
import { words } from "./words";

export const program: Catalogue = { pairs: [...piece, ...last, ...range, ...scan, ...work], words };
