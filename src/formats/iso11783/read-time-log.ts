import {FieldError, type Issue} from "../../errors.ts";
import {formatNumber} from "../../units/format.ts";
import type {FileSet, Read} from "../file-set.ts";
import {parseXml} from "../xml.ts";
import {dataItem} from "./data-dictionary.ts";
import type {TimeLog, TimeLogChannel} from "./task-data.ts";
import {findTaskData} from "./task-files.ts";
import {type LogField, type LogLayout, logLayout} from "./time-log-layout.ts";

const SECONDS_PER_DAY = 86_400;
const MOST_NUMBERS = 50_000_000;
/** What terminals log for "not available"; seen in the field, not in the published schemas. */
const NOT_AVAILABLE = [2 ** 31 - 1, -(2 ** 31)];

/**
 * One time log of a machine: positions and values, record by record.
 *
 * A machine writes a value only when it changes, so each value holds until the next one, from the start of the log on.
 * Positions without a fix (status 0, 14, 15), at 0, 0 or beyond the earth are NaN. The last record is often cut off
 * when power fails; what is whole is kept and the rest remarked on.
 *
 * @param name - As in `ReadTask.timeLogs`: "TLG00001".
 * @throws {FieldError} `iso11783/no-time-log`, `iso11783/bad-time-log`, `iso11783/too-large`, and what `findTaskData`
 *   and `parseXml` refuse.
 * Source: record layout after open readers of the format; checked against a record decoded by hand (tests).
 */
export function readTimeLog(files: FileSet, name: string): Read<TimeLog> {
  const {get} = findTaskData(files);
  const header = get(`${name}.XML`);
  const records = get(`${name}.BIN`);
  if (!header || !records) {
    const missing = `${name}.${header ? "BIN" : "XML"}`;
    throw new FieldError("iso11783/no-time-log", `The time log ${name} needs ${missing}, which is not there.`, {
      place: {file: missing},
      hint: "Copy the whole TASKDATA folder from the terminal again.",
    });
  }
  const layout = logLayout(parseXml(header, `${name}.XML`), `${name}.XML`);
  const scan = scanRecords(records, layout);
  const numbers = scan.count * (layout.fields.length + scan.logged.size);
  if (numbers > MOST_NUMBERS) {
    throw new FieldError("iso11783/too-large", `${name}.BIN holds ${formatNumber(numbers)} numbers.`, {
      place: {file: `${name}.BIN`},
      hint: `Read a shorter log; up to ${formatNumber(MOST_NUMBERS)} are taken.`,
    });
  }
  const {columns, channels} = decode(records, layout, scan);
  return {value: timeLog(name, scan.count, columns, channels), issues: scanIssues(name, records, layout, scan)};
}

interface Scan {
  /** Whole records. */
  readonly count: number;
  /** Bytes they take. */
  readonly end: number;
  /** Values of the header that occur in a record. */
  readonly logged: ReadonlySet<number>;
  /** Values the header does not have. */
  readonly strangers: number;
}

/** Walks over all records before anything is allocated. */
function scanRecords(bytes: Uint8Array, {fields, values}: LogLayout): Scan {
  const fixed = fixedBytes(fields);
  const logged = new Set(values.flatMap((value, i) => (value.constant === undefined ? [] : [i])));
  let count = 0;
  let strangers = 0;
  let at = 0;
  while (at + fixed < bytes.length) {
    const next = at + fixed + 1 + (bytes[at + fixed] as number) * 5;
    if (next > bytes.length) break;
    for (let value = at + fixed + 1; value < next; value += 5) {
      const index = bytes[value] as number;
      if (index < values.length) logged.add(index);
      else strangers++;
    }
    at = next;
    count++;
  }
  return {count, end: at, logged, strangers};
}

function fixedBytes(fields: readonly LogField[]): number {
  return fields.reduce((sum, field) => (field.constant === undefined ? sum + field.bytes : sum), 0);
}

type Columns = Partial<Record<LogField["name"], Float64Array>>;

function decode(
  bytes: Uint8Array,
  {fields, values}: LogLayout,
  {count, logged}: Scan,
): {columns: Columns; channels: TimeLogChannel[]} {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const columns: Columns = {};
  const read = fields.flatMap((field) => {
    const column = new Float64Array(count).fill(field.constant ?? Number.NaN);
    columns[field.name] = column;
    return field.constant === undefined ? [{...field, column}] : [];
  });
  const channels = values.map(({ddi, element, constant}, i) => {
    const {name, unit, perUnit} = dataItem(ddi);
    const column = new Float64Array(logged.has(i) ? count : 0);
    return {
      ddi,
      name,
      unit,
      element,
      values: column,
      perUnit,
      current: constant === undefined ? Number.NaN : constant / perUnit,
    };
  });
  let at = 0;
  for (let record = 0; record < count; record++) {
    for (const {column, bytes: size, signed, perUnit} of read) {
      column[record] = wholeNumber(view, at, size, signed) / perUnit;
      at += size;
    }
    const end = at + 1 + view.getUint8(at) * 5;
    for (at += 1; at < end; at += 5) {
      const channel = channels[view.getUint8(at)];
      if (!channel) continue;
      const raw = view.getInt32(at + 1, true);
      channel.current = NOT_AVAILABLE.includes(raw) ? Number.NaN : raw / channel.perUnit;
    }
    for (const channel of channels) if (channel.values.length > 0) channel.values[record] = channel.current;
  }
  const kept = channels.filter((_, i) => logged.has(i));
  return {
    columns,
    channels: kept.map(({ddi, name, unit, element, values: column}) => ({ddi, name, unit, element, values: column})),
  };
}

function wholeNumber(view: DataView, at: number, bytes: 1 | 2 | 4, signed: boolean): number {
  if (bytes === 1) return view.getUint8(at);
  if (bytes === 2) return view.getUint16(at, true);
  return signed ? view.getInt32(at, true) : view.getUint32(at, true);
}

function timeLog(name: string, count: number, columns: Columns, channels: readonly TimeLogChannel[]): TimeLog {
  const {ms, day, lat, lon, upM, status, pdop, hdop, satellites, utcMs, utcDay} = columns;
  const place = positions(count, lon, lat, status);
  return {
    name,
    count,
    timeS: seconds(ms as Float64Array, day as Float64Array),
    ...place,
    ...(upM ? {upM} : {}),
    ...(status ? {status} : {}),
    ...(pdop ? {pdop} : {}),
    ...(hdop ? {hdop} : {}),
    ...(satellites ? {satellites} : {}),
    ...(utcMs && utcDay ? {utcS: seconds(utcMs, utcDay)} : {}),
    channels,
  };
}

function seconds(ms: Float64Array, day: Float64Array): Float64Array {
  return ms.map((value, i) => (day[i] as number) * SECONDS_PER_DAY + value / 1000);
}

/** Usable positions; both coordinates are NaN for the others. */
function positions(
  count: number,
  lons: Float64Array | undefined,
  lats: Float64Array | undefined,
  status: Float64Array | undefined,
): {lon: Float64Array; lat: Float64Array} {
  const lon = new Float64Array(count).fill(Number.NaN);
  const lat = new Float64Array(count).fill(Number.NaN);
  if (!lons || !lats) return {lon, lat};
  for (let i = 0; i < count; i++) {
    const [x, y] = [lons[i] as number, lats[i] as number];
    const fixed = !status || ((status[i] as number) >= 1 && (status[i] as number) <= 8);
    if (!fixed || (x === 0 && y === 0) || Math.abs(x) > 180 || Math.abs(y) > 90) continue;
    lon[i] = x;
    lat[i] = y;
  }
  return {lon, lat};
}

function scanIssues(name: string, bytes: Uint8Array, layout: LogLayout, {count, end, strangers}: Scan): Issue[] {
  const place = {file: `${name}.BIN`};
  const issues: Issue[] = [];
  if (end < bytes.length) {
    issues.push({
      code: "iso11783/log-cut-off",
      severity: "warning",
      message: `${name}.BIN ends inside record ${formatNumber(count + 1)}; its last ${bytes.length - end} bytes were left out.`,
      place,
      hint: "Nothing to do if the terminal lost power; otherwise copy the file again.",
    });
  }
  if (strangers > 0) {
    issues.push({
      code: "iso11783/log-unknown-value",
      severity: "error",
      message: `${formatNumber(strangers)} values of ${name}.BIN are none of the ${layout.values.length} its header names; they were left out.`,
      place,
      hint: "Check that header and records belong together: the file may be damaged.",
    });
  }
  return issues;
}
