import {FieldError} from "../../errors.ts";
import type {AppliedLog} from "./applied-log.ts";

const COLUMNS = ["x", "y", "rateLbPerAcre", "massLb", "timeS", "swathM", "distanceM", "working", "pass"] as const;

/**
 * Several logs as one, each a machine of its own; a column that one of them lacks is unknown there.
 *
 * @throws {FieldError} `as-applied/mixed-kinds` for logs of rates and logs of amounts.
 */
export function joinLogs(logs: readonly AppliedLog[]): AppliedLog {
  const [first] = logs;
  if (!first) throw new Error("no logs to join");
  if (logs.length === 1) return first;
  if (logs.some((log) => log.rateLbPerAcre) && logs.some((log) => log.massLb)) {
    throw new FieldError("as-applied/mixed-kinds", "Some logs hold rates and others amounts.", {
      hint: "Compare them one at a time.",
    });
  }
  const count = logs.reduce((sum, log) => sum + log.x.length, 0);
  const joined: Partial<Record<(typeof COLUMNS)[number], Float64Array>> = {};
  for (const key of COLUMNS) {
    if (logs.every((log) => log[key] === undefined)) continue;
    const column = new Float64Array(count).fill(Number.NaN);
    let at = 0;
    for (const log of logs) {
      column.set(log[key] ?? [], at);
      at += log.x.length;
    }
    joined[key] = column;
  }
  return {...joined, id: logs.map(({id}) => id).join(", "), machine: machines(logs, count)} as AppliedLog;
}

/** Numbers of machines that no two logs share. */
function machines(logs: readonly AppliedLog[], count: number): Float64Array {
  const out = new Float64Array(count);
  let at = 0;
  let next = 0;
  for (const log of logs) {
    let most = 0;
    for (let i = 0; i < log.x.length; i++) {
      const own = log.machine?.[i] ?? 0;
      most = Math.max(most, own);
      out[at++] = next + own;
    }
    next += most + 1;
  }
  return out;
}
