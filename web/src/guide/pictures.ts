// The addresses of the guide's pictures in the built page.
import { pictureFile, type StepName } from "./steps";

const FOUND = import.meta.glob<string>("./pictures/*/*.webp", { eager: true, query: "?url", import: "default" });

/** The picture of a step in a language; in English where that language has none. */
export function picture(code: string, name: StepName): string {
  const file = pictureFile(name);
  return FOUND[`./pictures/${code}/${file}`] ?? FOUND[`./pictures/en/${file}`] ?? "";
}
