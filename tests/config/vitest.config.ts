import {defineConfig} from "vitest/config";

// `npm test` runs the product's own tests; the reference suite (independent tools) is `npm run test:reference`.
export default defineConfig({
  test: {
    root: new URL("../..", import.meta.url).pathname,
    include: process.env.LOAMWRIGHT_REFERENCE
      ? ["tests/reference/**/*.test.ts", "tests/web/**/*.test.ts"]
      : ["tests/**/*.test.ts"],
    exclude: process.env.LOAMWRIGHT_REFERENCE ? [] : ["tests/reference/**"],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // Not threads: a package that geotiff loads expects to be in the main one.
    pool: "forks",
  },
});
