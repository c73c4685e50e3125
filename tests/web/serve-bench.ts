import {startBench} from "../../src/cli/start-bench.ts";

// The command's server for a test: [page folder, port, book or "", "sample" or ""]. It says its address on a line of its
// own, keeps no book that was not named, and ends when it is told to or when the test that started it is gone.
const [web, port, book, sample] = process.argv.slice(2);
const bench = await startBench({
  web,
  port: Number(port),
  book: book || undefined,
  sample: sample === "sample",
  report: (error) => console.error(error),
});
console.log(bench.url);
const end = (): void => void bench.close().then(() => process.exit());
process.once("SIGTERM", end);
process.once("disconnect", end);
