/** Why a record was set aside: its code is its place in this list. Records are marked, never deleted. */
export const YIELD_REASONS = [
  "kept",
  "no-position",
  "header-up",
  "turn",
  "outside-field",
  "duplicate",
  "speed",
  "pass-start",
  "pass-end",
  "speed-change",
  "short-pass",
  "partial-swath",
  "no-yield",
  "beyond-limits",
  "outlier",
  "local-outlier",
] as const;

export type YieldReason = (typeof YIELD_REASONS)[number];

/** What each reason means, for people. */
export const YIELD_REASON_TEXT: Readonly<Record<YieldReason, string>> = {
  kept: "kept",
  "no-position": "no position, or a lone jump of the receiver",
  "header-up": "header up: nothing was cut",
  turn: "turning: the width cut is unknown",
  "outside-field": "outside the field boundary",
  duplicate: "same place or moment as an earlier record",
  speed: "stopped, creeping, or faster than the machine can go",
  "pass-start": "machine still filling at the start of a pass",
  "pass-end": "machine emptying at the end of a pass",
  "speed-change": "sudden change of speed",
  "short-pass": "too little left of the pass to trust",
  "partial-swath": "too little of the header in standing crop, or no telling how much",
  "no-yield": "flow, width or distance missing",
  "beyond-limits": "beyond the limits that were set",
  outlier: "far above all other records of the field",
  "local-outlier": "far from its neighbours, which no other pass confirms",
};

export function reasonCode(reason: YieldReason): number {
  return YIELD_REASONS.indexOf(reason);
}

/** Records per reason; every reason is named, also with 0. */
export function countReasons(codes: Uint8Array): Readonly<Record<YieldReason, number>> {
  const counts = new Array<number>(YIELD_REASONS.length).fill(0);
  for (const code of codes) counts[code] = (counts[code] as number) + 1;
  return Object.fromEntries(YIELD_REASONS.map((name, i) => [name, counts[i]])) as Record<YieldReason, number>;
}
