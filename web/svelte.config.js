// Svelte without its own tools: plain TypeScript in components, styles into files.
import { vitePreprocess } from "@sveltejs/vite-plugin-svelte";

export default { preprocess: vitePreprocess(), compilerOptions: { runes: true } };
