import {type AppliedPass, addApplied, appliedOf} from "../book/as-applied.ts";
import {type Book, withBook} from "../book/book.ts";
import {findField} from "../book/fields.ts";
import type {BookHost} from "../book/host.ts";
import {addJob} from "../book/sources.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import type {AppliedRun, AsAppliedRun} from "../pipeline/run-as-applied.ts";
import type {AppliedLog} from "../prescription/as-applied/applied-log.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {toKeep} from "./keep-run.ts";
import type {OpenedJob} from "./open-job.ts";

/**
 * Keeps what was spread in a book, with the job and its files where they are not there yet. A log that is there already is
 * not kept twice.
 *
 * @param spreadOn - As in "2026-04-20".
 * @returns How many passes are new.
 */
export function keepApplied(
  host: BookHost,
  bookPath: string,
  jobPath: string,
  opened: OpenedJob,
  logs: FileSet,
  {field, runs}: AsAppliedRun,
  spreadOn: string | undefined,
): number {
  return withBook(host, bookPath, (book) => {
    addJob(book, toKeep(jobPath, opened, field));
    const {farm = ""} = opened.job;
    const kept = findField(book, farm === "" ? field.name : `${farm}/${field.name}`);
    const known = new Set(appliedOf(book, kept).map(({product, sourceSha256}) => `${product} ${sourceSha256}`));
    const passes = runs.map((run) => passOf(field, run, logs, spreadOn));
    const fresh = passes.filter(({product, files}) => !known.has(`${product} ${sha256Of(book, files)}`));
    for (const pass of fresh) addApplied(book, kept, pass);
    return fresh.length;
  });
}

function passOf(
  field: Field,
  {product, plan, records, files, comparison}: AppliedRun,
  logs: FileSet,
  spreadOn: string | undefined,
): AppliedPass {
  return {
    product: product?.analysis ?? plan,
    ...(spreadOn !== undefined && {spreadOn}),
    files: files.flatMap((name) => {
      const bytes = logs.get(name);
      return bytes ? [{name, bytes}] : [];
    }),
    ...(comparison.loggedLb !== undefined && {totalLb: comparison.loggedLb}),
    points: "log" in records ? pointsOf(field, records.log) : [],
  };
}

/** As logged: nothing while the machine was switched off, not known where the log gives neither rate nor a way to it. */
function pointsOf(field: Field, log: AppliedLog): AppliedPass["points"] {
  return Array.from(log.x, (x, i) => ({
    at: toLonLat(field.frame, {x, y: log.y[i] as number}),
    rateLbPerAcre: log.working?.[i] === 0 ? 0 : rateAt(log, i),
  }));
}

function rateAt({rateLbPerAcre, massLb, swathM, distanceM}: AppliedLog, i: number): number {
  if (rateLbPerAcre) return rateLbPerAcre[i] as number;
  const ground = (swathM?.[i] ?? Number.NaN) * (distanceM?.[i] ?? Number.NaN);
  return ground > 0 ? ((massLb?.[i] ?? Number.NaN) * SQUARE_METRES_PER_ACRE) / ground : Number.NaN;
}

const sha256Of = ({host}: Book, [first]: NonNullable<AppliedPass["files"]> = []): string | undefined =>
  first && host.sha256(first.bytes);
