// Says sentences of the program in German, by the page's own catalogue, for checks by other software:
// a JSON list of sentences on standard input, a list of their parts on standard output.
import { text } from "node:stream/consumers";
import { fileURLToPath } from "node:url";

import { runnerImport } from "vite";

const load = async (path) =>
  (await runnerImport(fileURLToPath(new URL(path, import.meta.url)), { configFile: false, logLevel: "error" })).module;

const [{ Translator }, { program }, { de }] = [
  await load("../src/words/said.ts"),
  await load("../src/words/program/de/index.ts"),
  await load("../src/words/de.ts"),
];
const german = new Translator(program, de.decimal);
const sentences = JSON.parse(await text(process.stdin));
process.stdout.write(JSON.stringify(sentences.map((sentence) => german.parts(sentence))));
