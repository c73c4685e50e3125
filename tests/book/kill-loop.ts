import {spawn} from "node:child_process";
import {existsSync, statSync} from "node:fs";
import {fileURLToPath} from "node:url";
import {bytesOf} from "../../src/book/blobs.ts";
import {createBook, openBook} from "../../src/book/book.ts";
import type {BookHost} from "../../src/book/host.ts";
import {sourcesOf} from "../../src/book/sources.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {makeRandom} from "./make-random.ts";

export interface KillOutcome {
  readonly kills: number;
  /** Changes the writer said were committed. */
  readonly committed: number;
  /** Kills that left a half-written change behind. */
  readonly midway: number;
  /** Whatever was lost or wrong; empty when all is well. */
  readonly losses: readonly string[];
}

/** What the writer puts in as its n-th change: up to 400 kB that compress to nothing and repeat nowhere. */
export function contentOf(n: number): Uint8Array {
  const random = makeRandom(n);
  const words = new Uint32Array(100 + Math.floor(random() * 100_000));
  for (let i = 0; i < words.length; i++) words[i] = random() * 2 ** 32;
  return new Uint8Array(words.buffer);
}

/** Lets a process write to a book and kills it without warning, again and again; looks the book over each time. */
export async function killAgainAndAgain(
  host: BookHost,
  path: string,
  kills: number,
  seed: number,
): Promise<KillOutcome> {
  createBook(host, path);
  const book = openBook(host, path);
  book.db.exec(
    `INSERT INTO farms (name) VALUES ('Sedge Bottom');
     INSERT INTO fields (farm_id, farm, name, area_m2, acres, frame_lon, frame_lat) VALUES (1, 'Sedge Bottom', 'Wren Patch', 1, 1, 0, 0)`,
  );
  book.close();
  const random = makeRandom(seed);
  const losses: string[] = [];
  let committed = 0;
  let midway = 0;
  for (let kill = 1; kill <= kills; kill++) {
    // By the writer's own pace and not by the clock alone, so that a slow machine is killed as often in the middle.
    const commits = Math.floor(random() * 4);
    const said = await writeAndKill(path, committed + 1, commits, random() * 40);
    const journal = `${path}-journal`;
    if (existsSync(journal) && statSync(journal).size > 0) midway += 1;
    const again = openBook(host, path);
    try {
      const sources = sourcesOf(again, 1);
      const found = Math.max(0, ...sources.map(({version}) => version));
      // One more may be committed than the writer lived to tell.
      if (found < said || found > said + 1) losses.push(`kill ${kill}: ${said} said, ${found} there`);
      for (const {version, sha256} of sources.filter(({version}) => version > committed)) {
        const expected = host.sha256(contentOf(version));
        const bytes = bytesOf(again, sha256);
        if (sha256 !== expected || !bytes || host.sha256(bytes) !== expected)
          losses.push(`kill ${kill}: bytes of ${version}`);
      }
      const thorough = kill === kills || kill % 10 === 0;
      const [quick] = again.db.all("PRAGMA quick_check(1)");
      if (quick?.quick_check !== "ok") losses.push(`kill ${kill}: ${quick?.quick_check}`);
      if (thorough)
        losses.push(...verifyBook(again).flatMap(({faults}) => faults.map((fault) => `kill ${kill}: ${fault}`)));
      committed = found;
    } finally {
      again.close();
    }
  }
  return {kills, committed, midway, losses};
}

/** Starts the writer, kills it some milliseconds after so many commits; gives back the last one it told of. */
function writeAndKill(path: string, first: number, commits: number, afterMs: number): Promise<number> {
  const script = fileURLToPath(new URL("write-until-killed.ts", import.meta.url));
  const child = spawn(process.execPath, ["--import", "tsx", script, path, String(first)], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  let said = "";
  let wrong = "";
  let isDoomed = false;
  const told = (): string[] => said.split("\n").slice(0, -1);
  child.stderr.on("data", (chunk) => {
    wrong += chunk;
  });
  child.stdout.on("data", (chunk) => {
    said += chunk;
    if (isDoomed || told().length <= commits) return; // the first line says that it is ready
    isDoomed = true;
    setTimeout(() => child.kill("SIGKILL"), afterMs);
  });
  return new Promise((resolve, reject) => {
    child.on("close", (_, signal) => {
      if (signal !== "SIGKILL") reject(new Error(`the writer ended by itself: ${wrong}`));
      const committed = told().filter((line) => line !== "ready");
      resolve(committed.length > 0 ? Number(committed.at(-1)) : first - 1);
    });
  });
}
