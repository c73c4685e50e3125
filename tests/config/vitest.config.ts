import {defineConfig} from "vitest/config";

// `npm test` runs the product's own tests; the reference suite (independent tools, and random fields by the hundred) is
// `npm run test:reference`; the page in a browser is `npm run test:web`.
const SUITES: Record<string, {include: string[]; exclude?: string[]; globalSetup?: string}> = {
  own: {include: ["tests/**/*.test.ts"], exclude: ["tests/reference/**", "tests/web/**"]},
  reference: {
    include: ["tests/reference/**/*.test.ts", "tests/properties/zones.test.ts", "tests/geo/label-faces.test.ts"],
  },
  web: {include: ["tests/web/**/*.test.ts"], globalSetup: "tests/web/build-page.ts"},
};
const {LOAMWRIGHT_REFERENCE, LOAMWRIGHT_WEB} = process.env;
const suite = LOAMWRIGHT_WEB ? "web" : LOAMWRIGHT_REFERENCE ? "reference" : "own";

export default defineConfig({
  test: {
    root: new URL("../..", import.meta.url).pathname,
    ...SUITES[suite],
    setupFiles: ["tests/config/seed.ts"],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // Browsers draw in software here: two at once make each other late.
    fileParallelism: suite !== "web",
    // Not threads: a package that geotiff loads expects to be in the main one.
    pool: "forks",
  },
});
