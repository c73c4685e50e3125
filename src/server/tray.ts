import {createHash, randomBytes} from "node:crypto";
import {mkdtempSync, rmSync} from "node:fs";
import {open, readFile, rename, rm} from "node:fs/promises";
import {tmpdir} from "node:os";
import {join} from "node:path";

/** What lies on the tray: put there, not yet part of a field. */
export interface TrayFile {
  readonly sha256: string;
  readonly name: string;
  readonly bytes: number;
}

/** Files on their way into the book: kept in a folder of their own until the server ends. */
export interface Tray {
  /** @throws What the chunks throw; nothing of the file is left then. */
  put(name: string, chunks: AsyncIterable<Uint8Array>): Promise<TrayFile>;
  get(sha256: string): TrayFile | undefined;
  bytes(sha256: string): Promise<Uint8Array | undefined>;
  close(): void;
}

/**
 * Names on disk are digests and random: nothing a client says becomes a path.
 *
 * @param mostBytes - Of all files; what lies there longest goes first.
 */
export function makeTray(mostBytes: number): Tray {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-tray-"));
  const files = new Map<string, TrayFile>();
  const makeRoom = async (): Promise<void> => {
    let total = [...files.values()].reduce((sum, {bytes}) => sum + bytes, 0);
    for (const {sha256, bytes} of [...files.values()]) {
      if (total <= mostBytes || files.size === 1) return;
      files.delete(sha256);
      total -= bytes;
      await rm(join(folder, sha256), {force: true});
    }
  };
  return {
    put: async (name, chunks) => {
      const arriving = join(folder, `arriving-${randomBytes(8).toString("hex")}`);
      const file = await open(arriving, "wx", 0o600);
      const hash = createHash("sha256");
      let bytes = 0;
      try {
        for await (const chunk of chunks) {
          bytes += chunk.length;
          hash.update(chunk);
          await file.write(chunk);
        }
        await file.close();
        const sha256 = hash.digest("hex");
        await rename(arriving, join(folder, sha256));
        files.delete(sha256);
        const put = {sha256, name, bytes};
        files.set(sha256, put);
        await makeRoom();
        return put;
      } catch (error) {
        await file.close().catch(() => undefined);
        await rm(arriving, {force: true});
        throw error;
      }
    },
    get: (sha256) => files.get(sha256),
    bytes: async (sha256) => (files.has(sha256) ? new Uint8Array(await readFile(join(folder, sha256))) : undefined),
    close: () => rmSync(folder, {recursive: true, force: true}),
  };
}
