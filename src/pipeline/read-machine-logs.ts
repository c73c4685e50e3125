import {FieldError, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {readTaskData} from "../formats/iso11783/read-task-data.ts";
import {readTimeLog} from "../formats/iso11783/read-time-log.ts";
import type {TimeLog, TimeLogChannel} from "../formats/iso11783/task-data.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane} from "../geo/frame.ts";
import type {AppliedLog} from "../prescription/as-applied/applied-log.ts";
import {joinLogs} from "../prescription/as-applied/join-logs.ts";
import {lbPerAcrePer} from "../prescription/as-applied/rate-unit.ts";
import {finite} from "../stats/robust.ts";
import {KILOGRAMS_PER_POUND} from "../units/factors.ts";
import type {AppliedFiles} from "./job/as-applied.ts";
import {type Remarks, remarksAt, taskFiles} from "./read-inputs.ts";

/** Identifiers of ISO 11783-11's data dictionary. */
const APPLIED_RATE = [7, 2];
const TOTAL = 81;
const WIDTH = 67;
const WORK_STATE = 141;

/**
 * The time logs of task data as one log: applied rates, or running totals where no rate is logged.
 *
 * @throws {FieldError} `as-applied/no-time-logs`, `as-applied/no-task`, `as-applied/no-rate-logged`,
 *   `as-applied/which-element`.
 */
export function readMachineLogs(
  field: Field,
  files: FileSet,
  source: AppliedFiles,
  file: string,
  lbPerGallon: number | undefined,
  remarks: Remarks,
): AppliedLog {
  const set = taskFiles(files, file);
  const {value: task, issues} = withPlace({file}, () => readTaskData(set));
  remarks.push(...remarksAt({file}, issues));
  const {layer} = source;
  const tasks = task.tasks.filter(({id, name}) => layer === undefined || id === layer || name === layer);
  if (tasks.length === 0) {
    throw new FieldError("as-applied/no-task", `${file} has no task "${layer}".`, {
      place: {file},
      hint: `Its tasks are: ${task.tasks.map(({id, name}) => name || id).join(", ")}.`,
    });
  }
  const names = tasks.flatMap(({timeLogs}) => timeLogs);
  if (names.length === 0) {
    throw new FieldError("as-applied/no-time-logs", `${file} holds no time logs: nothing was logged while working.`, {
      place: {file},
      hint: "Copy the task data from the terminal after the work is done.",
    });
  }
  const logs = names.map((name) => {
    const {value, issues: doubts} = withPlace({file}, () => readTimeLog(set, name));
    remarks.push(...remarksAt({file}, doubts));
    return value;
  });
  const withRates = logs.filter((log) => log.count > 0);
  return {...joinLogs(withRates.map((log) => logOf(field, log, source, file, lbPerGallon))), id: file};
}

function logOf(
  field: Field,
  log: TimeLog,
  {element}: AppliedFiles,
  file: string,
  lbPerGallon: number | undefined,
): AppliedLog {
  const {channels} = log;
  const rate = APPLIED_RATE.map((ddi) => onlyOne(channels, ddi, element, file)).find((found) => found);
  const total = rate ? undefined : onlyOne(channels, TOTAL, element, file);
  const put = rate ?? total;
  if (!put) {
    throw new FieldError("as-applied/no-rate-logged", `${log.name} of ${file} holds no applied rate and no total.`, {
      place: {file},
      hint: `It holds: ${[...new Set(channels.map(({name}) => name))].join(", ")}.`,
    });
  }
  const factor = rate ? lbPerAcrePer(rate.unit, lbPerGallon) : 1;
  const width = besides(channels, WIDTH, put.element);
  const state = besides(channels, WORK_STATE, put.element);
  return {
    id: log.name,
    ...columnsToPlane(field.frame, log.lon, log.lat),
    timeS: log.utcS ?? log.timeS,
    ...(rate
      ? {rateLbPerAcre: rate.values.map((value) => value * factor)}
      : {massLb: rises(put.values, state?.values).map((kg) => kg / KILOGRAMS_PER_POUND)}),
    ...(width && {swathM: width.values}),
    ...(state && {working: state.values}),
  };
}

/** The one part of the machine that logged something, or the one asked for. */
function onlyOne(
  channels: readonly TimeLogChannel[],
  ddi: number,
  element: string | undefined,
  file: string,
): TimeLogChannel | undefined {
  const found = channels.filter(
    (channel) => channel.ddi === ddi && (element === undefined || channel.element === element),
  );
  if (found.length <= 1) return found[0];
  const names = found.map((channel) => channel.element).join(", ");
  throw new FieldError(
    "as-applied/which-element",
    `Several parts of the machine logged the ${found[0]?.name}: ${names}.`,
    {
      place: {file},
      hint: 'Name the one that put this product out with "element" in the job.',
    },
  );
}

/** What was logged of the same part, else of the machine as a whole: the widest, where sections have their own. */
function besides(channels: readonly TimeLogChannel[], ddi: number, element: string): TimeLogChannel | undefined {
  const found = channels.filter((channel) => channel.ddi === ddi);
  const most = ({values}: TimeLogChannel): number => finite(values).reduce((a, b) => Math.max(a, b), 0);
  return (
    found.find((channel) => channel.element === element) ??
    found.reduce<TimeLogChannel | undefined>((best, one) => (best && most(best) >= most(one) ? best : one), undefined)
  );
}

/**
 * What a running total rose by, shared out evenly over the records worked since its last rise: totals are in whole
 * kilograms and stand still for many a record. A total that starts again counts from there.
 */
function rises(totals: Float64Array, working: Float64Array | undefined): Float64Array {
  const out = new Float64Array(totals.length);
  let before = Number.NaN;
  let since = 0;
  for (let i = 0; i < totals.length; i++) {
    const total = totals[i] as number;
    if (Number.isNaN(total) || total === before) continue;
    if (total > before) shareOut(out, since, i, total - before, working);
    before = total;
    since = i + 1;
  }
  return out;
}

function shareOut(
  out: Float64Array,
  from: number,
  to: number,
  amount: number,
  working: Float64Array | undefined,
): void {
  const counts = (i: number): boolean => working?.[i] !== 0;
  let count = 0;
  for (let i = from; i <= to; i++) if (counts(i)) count++;
  if (count === 0) out[to] = amount;
  else for (let i = from; i <= to; i++) if (counts(i)) out[i] = amount / count;
}
