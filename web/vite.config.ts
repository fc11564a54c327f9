// How the workbench is built: static files with relative addresses, nothing inlined, so that the
// program can serve them under a strict content security policy.
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

import { licences } from "./licences.ts";

export default defineConfig({
  base: "./",
  plugins: [svelte(), licences()],
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // three alone passes the default of 500 kB; it comes from this machine, not over a network.
    chunkSizeWarningLimit: 1200,
  },
  worker: { format: "es" },
  // Its worker is addressed relative to its own file, which bundling beforehand would break.
  optimizeDeps: { exclude: ["three-mesh-bvh"] },
  server: {
    proxy: { "/api": { target: process.env.FEATHERLINE ?? "http://127.0.0.1:8765", ws: true } },
  },
});
