import {createHash} from "node:crypto";
import {FieldError} from "../errors.ts";
import {VERSION} from "../pipeline/version.ts";
import type {SourceCard} from "./api-types.ts";
import type {Pool} from "./pool.ts";
import {recent} from "./recent.ts";
import {notFound} from "./refuse.ts";
import type {FileRef} from "./run-spec.ts";
import type {Shelf, ShelfField} from "./shelf.ts";
import {apiErrorOf} from "./tasks.ts";
import type {Tray} from "./tray.ts";

/** Files on the tray and on the shelf, and what they hold. */
export interface Sources {
  /** Takes a file in and says what it holds. @throws {FieldError} when nothing can be made of it. */
  take(name: string, chunks: AsyncIterable<Uint8Array>): Promise<SourceCard>;
  /** What a file holds; one that cannot be read says so among its issues. */
  card(file: FileRef): Promise<SourceCard>;
  /** The same of files on the shelf; what was once seen in them is not looked for again. */
  cards(files: readonly FileRef[]): Promise<SourceCard[]>;
  /** Bytes of one's own, to give away. @throws {FieldError} `server/not-found`. */
  bytes(sha256: string): Promise<Uint8Array>;
  /** Has files at hand that are on their way to the shelf by another way than the tray, while `work` needs them. */
  lending<T>(files: ReadonlyMap<string, Uint8Array>, work: () => Promise<T>): Promise<T>;
  /** The name under which a file came in. @throws {FieldError} `server/not-found`. */
  nameOf(sha256: string, field?: ShelfField): Promise<string>;
}

const MOST_CARDS = 2000;
/** Count up when more or other things are seen in files. */
const LOOKED_BY = `${VERSION}, form 2`;

export function sourcesOf(shelf: Shelf, tray: Tray, pool: () => Pool): Sources {
  const cards = recent<SourceCard>(MOST_CARDS);
  /** Files whose cards are known to be kept. */
  const onShelf = new Set<string>();
  const lent = new Map<string, Uint8Array>();
  const look = async (file: FileRef): Promise<SourceCard> => {
    const key = file.join("\n");
    const card = cards.get(key) ?? (await pool().call("look", {file}));
    cards.set(key, card);
    return card;
  };
  const card: Sources["card"] = async (file) => {
    try {
      return await look(file);
    } catch (error) {
      const {code, message, hint, place} = apiErrorOf(error);
      const issue = {code, severity: "error" as const, message, ...(hint && {hint}), ...(place && {place})};
      const [name, id] = file;
      return {id, name, bytes: 0, kind: "unknown", lines: [], issues: [issue], looksLike: [], proposed: {}};
    }
  };
  return {
    take: async (name, chunks) => {
      const {sha256} = await tray.put(checkedName(name), chunks);
      return look([name, sha256]);
    },
    card,
    cards: async (files) => {
      const unseen = files.filter((file) => !cards.get(file.join("\n")));
      const seen = unseen.length > 0 ? await shelf.looks(unseen, LOOKED_BY) : [];
      for (const [i, file] of unseen.entries()) {
        const text = seen[i];
        if (text === undefined) continue;
        cards.set(file.join("\n"), JSON.parse(text) as SourceCard);
        onShelf.add(file.join("\n"));
      }
      const found = await Promise.all(files.map(card));
      for (const [i, file] of files.entries()) {
        const key = file.join("\n");
        if (onShelf.has(key)) continue;
        onShelf.add(key);
        shelf.keepLook(file, LOOKED_BY, JSON.stringify(found[i])).catch(() => onShelf.delete(key));
      }
      return found;
    },
    bytes: async (sha256) => {
      const bytes = lent.get(sha256)?.slice() ?? (await tray.bytes(sha256)) ?? (await shelf.bytes(sha256));
      if (!bytes) throw notFound("such file", "Upload it again.");
      return bytes;
    },
    lending: async (files, work) => {
      const shas = [...files.values()].map((bytes) => [sha256Of(bytes), bytes] as const);
      for (const [sha256, bytes] of shas) lent.set(sha256, bytes);
      try {
        return await work();
      } finally {
        for (const [sha256] of shas) lent.delete(sha256);
      }
    },
    nameOf: async (sha256, field) => {
      const onTray = tray.get(sha256)?.name;
      const fields = onTray === undefined ? [...(field ? [field] : []), ...(await shelf.list())] : [];
      const name = onTray ?? fields.flatMap(({files}) => files).find((file) => file.sha256 === sha256)?.name;
      if (name === undefined) throw notFound("such file", "Upload it again.");
      return name;
    },
  };
}

/** A name no file of the field has: `log.csv`, `log 2.csv` and so on. */
export function freeName(name: string, taken: readonly string[]): string {
  const dot = name.lastIndexOf(".");
  const [stem, ending] = dot > 0 ? [name.slice(0, dot), name.slice(dot)] : [name, ""];
  for (let n = 1; ; n++) {
    const tried = n === 1 ? name : `${stem} ${n}${ending}`;
    if (!taken.includes(tried)) return tried;
  }
}

export const sha256Of = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

const MOST_LETTERS = 180;

/** A name of a file alone: never a path nor what looks like one, nothing that a person cannot see. @throws {FieldError} `file/bad-name`. */
function checkedName(name: string): string {
  const seen = name.normalize("NFKC");
  const bad =
    name === "" ||
    name.length > MOST_LETTERS ||
    seen.startsWith(".") ||
    /[\\/:]|[\p{Cc}\p{Cf}\p{Cs}]/u.test(name) ||
    /[\\/\u2044\u2215\u2216\u29f5\u29f8\u29f9]/.test(seen);
  if (!bad) return name;
  throw new FieldError("file/bad-name", `${JSON.stringify(name.slice(0, MOST_LETTERS))} is no name of a file.`, {
    hint: "Send the name alone, without folders, as in yield-2025.csv.",
  });
}
