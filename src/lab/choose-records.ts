import {FieldError} from "../errors.ts";
import type {LabRecord} from "./lab-record.ts";
import {idKey} from "./sample-id.ts";

/** The samples of one field, day and depth in a lab file. */
export interface LabGroup {
  readonly field: string;
  readonly date: string;
  readonly depthM?: number;
  readonly samples: number;
}

/** The fields, days and depths a file holds, in order of first appearance. */
export function labGroups(records: readonly LabRecord[]): readonly LabGroup[] {
  const groups = new Map<string, {group: Omit<LabGroup, "samples">; ids: Set<string>}>();
  for (const {field, date, depthM, sampleId} of records) {
    const key = JSON.stringify([field, date, depthM]);
    const found = groups.get(key);
    if (found) found.ids.add(idKey(sampleId));
    else
      groups.set(key, {group: {field, date, ...(depthM !== undefined && {depthM})}, ids: new Set([idKey(sampleId)])});
  }
  return [...groups.values()].map(({group, ids}) => ({...group, samples: ids.size}));
}

/**
 * The records of one field, day or depth; what is not asked for is not looked at. Depths agree within half a centimetre.
 *
 * @throws {FieldError} `lab/no-such-group` when none is left, naming what the file holds.
 */
export function chooseRecords(
  records: readonly LabRecord[],
  asked: {readonly field?: string; readonly date?: string; readonly depthM?: number},
): readonly LabRecord[] {
  const same = (a: string, b: string): boolean => a.trim().toLowerCase() === b.trim().toLowerCase();
  const kept = records.filter(
    ({field, date, depthM}) =>
      (asked.field === undefined || same(field, asked.field)) &&
      (asked.date === undefined || same(date, asked.date)) &&
      (asked.depthM === undefined || (depthM !== undefined && Math.abs(depthM - asked.depthM) < 0.005)),
  );
  if (kept.length > 0) return kept;
  const what = [asked.field, asked.date, asked.depthM === undefined ? undefined : `${asked.depthM} m`].filter(Boolean);
  const there = labGroups(records)
    .slice(0, 8)
    .map(({field, date}) => [field, date].filter(Boolean).join(", ") || "without a name");
  throw new FieldError("lab/no-such-group", `The file holds no results for ${what.join(", ")}.`, {
    hint: `It holds: ${there.join("; ")}.`,
  });
}
