import {defineConfig} from "vite";

const SERVER = process.env.LOAMWRIGHT_SERVER ?? "http://127.0.0.1:4173";

// One page, served by `loamwright serve` from dist/web. In development the API is asked from a running server.
export default defineConfig({
  root: import.meta.dirname,
  base: "./",
  worker: {format: "es"},
  build: {outDir: "../dist/web", emptyOutDir: true, target: "es2022", chunkSizeWarningLimit: 1600},
  // The server answers only pages it served itself, so the proxy speaks as one of them.
  server: {proxy: {"/api": {target: SERVER, changeOrigin: true, headers: {origin: SERVER}}}},
});
