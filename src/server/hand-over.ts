import {createHash} from "node:crypto";
import {FieldError} from "../errors.ts";
import type {Strategy} from "../sampling/plan.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {HandOverRequest, ReceiptCard, ResultCard} from "./api-types.ts";
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
  const out = ratesIn(card, folderStrategy(result, card), rates);
  await shelf.keepHandOver(result.field, result.id, {
    ...(to !== undefined && to !== "" && {to}),
    strategies: [...new Set(out.map(({strategy}) => strategy))],
    products: [...new Set(out.map(({product}) => product))],
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

/**
 * Receipts of the rates in these files. In the applicator's folder a file has the name it has outside; what has none
 * there, as the sheet for the cab, is of all the folder's rates.
 */
function ratesIn({receipts}: ResultCard, folder: Strategy | undefined, names: readonly string[]): ReceiptCard[] {
  const known = new Set(receipts.map(({file}) => file));
  const inside = names.filter((name) => name.startsWith(FOLDER)).map((name) => name.slice(FOLDER.length));
  const wholeFolder = inside.some((name) => !known.has(name));
  return receipts.filter(
    ({file = "", strategy}) => names.includes(file) || (strategy === folder && (wholeFolder || inside.includes(file))),
  );
}

/** The one the job says, or the only one there is. */
function folderStrategy({spec}: KnownResult, {receipts}: ResultCard): Strategy | undefined {
  const {handOver} = JSON.parse(spec.job) as {handOver?: {strategy?: Strategy}};
  return handOver?.strategy ?? receipts[0]?.strategy;
}

async function bytesOf(results: Results, result: KnownResult, name: string): Promise<Uint8Array> {
  const bytes = await results.file(result, name);
  if (!bytes) throw new Error(`${name} is among the outputs and not there`);
  return bytes;
}

const sha256Of = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");
