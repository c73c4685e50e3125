import type {AppliedLog} from "./applied-log.ts";

/** What keeps a record from being ground with product on it. */
export type RecordReason = (typeof REASONS)[number];

/** Index 0 is a record that counts. */
const REASONS = [
  "used",
  "no position",
  "duplicate",
  "position jump",
  "switched off",
  "no rate",
  "rate below zero",
  "rate zero",
  "no swath",
  "standing",
] as const;

export const reasonNumber = (reason: RecordReason): number => REASONS.indexOf(reason);

/**
 * Looks at each record by itself: what of it cannot be, or is nothing put out. Deletes nothing.
 *
 * A rate of zero is a record like any other along a pass, but covers no ground.
 *
 * @param swathM - Width of each record, the log's own or the one assumed.
 * @returns Numbers of reasons; 0 where there is none.
 */
export function screenRecords(log: AppliedLog, swathM: Float64Array): Uint8Array {
  const {x, y, working, rateLbPerAcre, massLb} = log;
  const put = rateLbPerAcre ?? massLb;
  if (!put) throw new Error("a log without rates and amounts");
  const reason = new Uint8Array(x.length);
  for (let i = 0; i < reason.length; i++) {
    const rate = put[i] as number;
    const why: RecordReason = !Number.isFinite((x[i] as number) + (y[i] as number))
      ? "no position"
      : working?.[i] === 0
        ? "switched off"
        : !Number.isFinite(rate)
          ? "no rate"
          : rate < 0
            ? "rate below zero"
            : rate === 0
              ? "rate zero"
              : !((swathM[i] as number) > 0)
                ? "no swath"
                : "used";
    reason[i] = REASONS.indexOf(why);
  }
  return reason;
}

/** How many records have each reason, in the order of the list; reasons without any are left out. */
export function countReasons(reason: Uint8Array): {used: number; byReason: Partial<Record<RecordReason, number>>} {
  const counts = new Int32Array(REASONS.length);
  for (let i = 0; i < reason.length; i++) {
    const r = reason[i] as number;
    counts[r] = (counts[r] as number) + 1;
  }
  const byReason: Partial<Record<RecordReason, number>> = {};
  for (const [r, name] of REASONS.entries()) if (r > 0 && counts[r]) byReason[name] = counts[r] as number;
  return {used: counts[0] as number, byReason};
}
