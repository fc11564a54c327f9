// Gathers the licences of everything that goes into the page into one file beside it.
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

import type { Plugin } from "vite";

const NAMES = /^(licen[cs]e|copying)/i;

export function licences(): Plugin {
  const packages = new Set<string>();
  return {
    name: "licences",
    apply: "build",
    moduleParsed({ id }) {
      const [, name] = /node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(id) ?? [];
      if (name) packages.add(name);
    },
    generateBundle() {
      const texts = [...packages].sort().map((name) => {
        const folder = join("node_modules", name);
        const file = existsSync(folder) ? readdirSync(folder).find((entry) => NAMES.test(entry)) : undefined;
        const text = file ? readFileSync(join(folder, file), "utf8") : "see its package\n";
        return `${name}\n${"-".repeat(name.length)}\n\n${text.trim()}\n`;
      });
      this.emitFile({ type: "asset", fileName: "licences.txt", source: texts.join("\n\n") });
    },
  };
}
