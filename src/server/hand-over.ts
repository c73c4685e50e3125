import {createHash} from "node:crypto";
import {FieldError} from "../errors.ts";
import type {Strategy} from "../sampling/plan.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {HandOverRequest, ResultCard} from "./api-types.ts";
import type {KnownResult, Results} from "./results.ts";
import type {Shelf} from "./shelf.ts";

/** Where the applicator's folder lies among the outputs. */
export const FOLDER = "hand-over/";

/**
 * Enters in the book that files of a result were handed over: which, as their bytes were, to whom.
 *
 * @throws {FieldError} `hand-over/not-kept` for results that are not in the book, `hand-over/no-files`,
 *   `hand-over/no-such-file`, and `hand-over/caution` for rates whose caution was not read.
 */
export async function handOver(
  {shelf, results}: {readonly shelf: Shelf; readonly results: Results},
  result: KnownResult,
  {files, to, acknowledged = false}: HandOverRequest,
): Promise<void> {
  if (!result.kept) {
    throw new FieldError("hand-over/not-kept", "These results are a look ahead and not in the book.", {
      hint: "Run the field to its end, then hand over.",
    });
  }
  const card = await results.card(result);
  const names = [...new Set(files)];
  checkNames(names, card);
  const rates = names.filter((name) => isRateFile(card, name));
  if (rates.length > 0 && !acknowledged) {
    throw new FieldError("hand-over/caution", "Rates leave only when the caution has been read.", {
      hint: "Read it, and say so with acknowledged: true.",
    });
  }
  const hashed = await Promise.all(
    names.map(async (name) => ({name, sha256: sha256Of(await bytesOf(results, result, name))})),
  );
  await shelf.keepHandOver(result.field, result.id, {
    ...(to !== undefined && to !== "" && {to}),
    strategies: strategiesIn(card, names),
    rates,
    files: hashed,
  });
}

/** Whether a machine could spread by it. */
export function isRateFile({receipts}: Pick<ResultCard, "receipts">, name: string): boolean {
  return name.startsWith(FOLDER) || receipts.some(({file}) => file === name);
}

function checkNames(names: readonly string[], {outputs}: ResultCard): void {
  if (names.length === 0) {
    throw new FieldError("hand-over/no-files", "No file is named that was handed over.", {hint: "Name at least one."});
  }
  const known = outputs.map(({name}) => name);
  const stray = names.find((name) => !known.includes(name));
  if (stray === undefined) return;
  const near = nearestName(stray, known);
  throw new FieldError("hand-over/no-such-file", `The result has no file ${stray}.`, {
    hint: near ? `Did you mean ${near}?` : "Name files of the result.",
  });
}

const strategiesIn = ({receipts}: ResultCard, names: readonly string[]): Strategy[] => [
  ...new Set(receipts.filter(({file}) => names.includes(file ?? "")).map(({strategy}) => strategy)),
];

async function bytesOf(results: Results, result: KnownResult, name: string): Promise<Uint8Array> {
  const bytes = await results.file(result, name);
  if (!bytes) throw new Error(`${name} is among the outputs and not there`);
  return bytes;
}

const sha256Of = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");
