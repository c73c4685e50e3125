import type {Issue} from "../../errors.ts";
import {METRES_PER_FOOT} from "../../units/factors.ts";
import {formatNumber, formatShort} from "../../units/format.ts";
import type {AppliedComparison} from "./applied-comparison.ts";

/** A total further than this from the plan is worth a look: the usual slack of a job ticket is 2 percent. */
const TICKET_PCT = 2;
/** The picture and the machine's own account of the same log differ by less than this where all is well. */
const ACCOUNT_PCT = 2;
const LONG_LAG_S = 1;
const MUCH_OUTSIDE_PCT = 2;

/** What a reader of a comparison should know, most of it with what to do about it. */
export function appliedIssues(found: Omit<AppliedComparison, "issues">): Issue[] {
  const {field, outside, total, records, lag, loggedLb, how} = found;
  const issues: Issue[] = [];
  const warn = (code: string, message: string, hint: string): void => {
    issues.push({code: `as-applied/${code}`, severity: "warning", message, hint});
  };
  const left = Object.entries(records.byReason);
  if (left.length > 0) {
    issues.push({
      code: "as-applied/records",
      severity: "note",
      message: `${formatNumber(records.used)} of ${formatNumber(records.all)} records put product on ground; the others: ${left
        .map(([reason, count]) => `${formatNumber(count)} ${reason}`)
        .join(", ")}.`,
    });
  }
  if (how === "nearest record") {
    warn(
      "no-order",
      "The records do not follow one another, so ground was given the rate of the nearest record; overlaps and lag cannot be told.",
      "Export the log with its times, or in the order it was driven.",
    );
  }
  if (Math.abs(total.differencePct) > TICKET_PCT) {
    const more = total.differenceLb > 0 ? "more" : "less";
    warn(
      "total-off",
      `${formatNumber(total.appliedLb)} lb were applied, ${formatShort(Math.abs(total.differencePct), 1)} % ${more} than the ${formatNumber(total.plannedLb)} lb planned.`,
      "Compare both with the job ticket; a constant ratio over all units points to calibration or a wrong unit.",
    );
  }
  if (loggedLb !== undefined && Math.abs(loggedLb / total.appliedLb - 1) > ACCOUNT_PCT / 100) {
    warn(
      "account-off",
      `Rate × swath × distance of the log add up to ${formatNumber(loggedLb)} lb, the ground painted to ${formatNumber(total.appliedLb)} lb.`,
      "Look for bends and jumps in the log: the two should agree.",
    );
  }
  if (outside.appliedLb > (MUCH_OUTSIDE_PCT / 100) * total.appliedLb) {
    warn(
      "outside",
      `${formatNumber(outside.appliedLb)} lb fell outside the field, on ${formatNumber(outside.acres, 1)} ac.`,
      "Check the boundary, the swath and whether the log is of this field alone.",
    );
  }
  if (field.coveredAcres < field.acres / 2) {
    warn(
      "half-covered",
      `Only ${formatNumber(field.coveredAcres, 1)} of ${formatNumber(field.acres, 1)} ac got any product.`,
      "Check the unit of the swath, and whether the log is whole.",
    );
  }
  if (lag.lagS !== undefined && Math.abs(lag.lagS) > LONG_LAG_S) {
    const [late, by] = lag.lagS > 0 ? ["after", "Lengthen"] : ["before", "Shorten"];
    warn(
      "lag",
      `Rates changed ${formatNumber(Math.abs(lag.lagS), 1)} s (${formatNumber(Math.abs(lag.lagM ?? 0) / METRES_PER_FOOT)} ft) ${late} the line of the map.`,
      `${by} the controller's look-ahead by about that much; the map itself should not be shifted.`,
    );
  }
  return issues;
}
