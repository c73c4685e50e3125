import type {XY} from "../../src/geo/shapes.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import type {LogRecord} from "./combine.ts";
import type {SampleField, Season} from "./farm.ts";

/** A record as it reached the file; moisture may be missing, and a lost fix has no position worth the name. */
export interface DirtyRecord extends Omit<LogRecord, "moisturePct"> {
  readonly moisturePct: number | undefined;
  readonly fixLost: boolean;
}

/**
 * What card readers, loose plugs and bad sky do to a log: spikes, dropouts, a stuck header switch, repeated lines,
 * positions that jump, drift, stall or are lost. Counts follow the length of the log.
 */
export function dirtied(records: readonly LogRecord[], field: SampleField, season: Season): DirtyRecord[] {
  const random = seededRandom(field.seed, `dirt/${season.year}`);
  const out: DirtyRecord[] = records.map((record) => ({...record, fixLost: false}));

  /** So many times per thousand records, `length` records in a row from a random one are changed. */
  const often = (
    perThousand: number,
    length: () => number,
    event: () => (record: DirtyRecord) => DirtyRecord,
  ): void => {
    for (let i = timesIn(records, perThousand); i > 0; i--) {
      const from = random.integer(records.length);
      const to = Math.min(out.length, from + length());
      const change = event();
      for (let at = from; at < to; at++) out[at] = change(out[at] as DirtyRecord);
    }
  };
  const once = (): number => 1;

  often(0.9, once, () => {
    const factor = 2.2 + 3.5 * random.next();
    return (r) => ({...r, flowLbPerS: (r.flowLbPerS + 4) * factor});
  });
  often(0.4, once, () => (r) => ({...r, flowLbPerS: 0}));
  often(
    0.35,
    () => 3 + random.integer(22),
    () => {
      const shown = random.next() < 0.5 ? 0 : undefined;
      return (r) => ({...r, moisturePct: shown});
    },
  );
  often(0.5, once, () => movedBy(displacement(random, 25, 165)));
  often(
    0.12,
    () => 12 + random.integer(25),
    () => movedBy(displacement(random, 3, 9)),
  );
  often(
    0.2,
    () => 3 + random.integer(4),
    () => {
      let stalled: XY | undefined;
      return (r) => {
        stalled ??= {x: r.x, y: r.y};
        return {...r, ...stalled};
      };
    },
  );
  often(0.12, once, () => (r) => ({...r, fixLost: true}));
  return withRepeats(withStuckSwitch(out, random), random);
}

const timesIn = (records: readonly unknown[], perThousand: number): number =>
  Math.max(1, Math.round((records.length * perThousand) / 1000));

function displacement(random: Random, leastM: number, mostM: number): XY {
  const metres = leastM + (mostM - leastM) * random.next();
  const angle = 2 * Math.PI * random.next();
  return {x: metres * Math.cos(angle), y: metres * Math.sin(angle)};
}

function movedBy(by: XY): (record: DirtyRecord) => DirtyRecord {
  return (record) => ({...record, x: record.x + by.x, y: record.y + by.y});
}

/** One whole turn logged as if the header had stayed down. */
function withStuckSwitch(records: readonly DirtyRecord[], random: Random): DirtyRecord[] {
  const from = random.integer(Math.ceil(records.length / 2));
  const up = records.findIndex((record, i) => i >= from && !record.headerDown);
  const down = records.findIndex((record, i) => i > up && record.headerDown);
  return records.map((record, i) => (i >= up && i < down ? {...record, headerDown: true} : record));
}

/** Single lines written twice, and one block that the card wrote again. */
function withRepeats(records: readonly DirtyRecord[], random: Random): DirtyRecord[] {
  const singles = timesIn(records, 0.7);
  const twice = new Set(Array.from({length: singles}, () => random.integer(records.length)));
  const out = records.flatMap((record, i) => (twice.has(i) ? [record, record] : [record]));
  const end = 24 + random.integer(Math.max(1, out.length - 24));
  return [...out.slice(0, end), ...out.slice(end - 24, end), ...out.slice(end)];
}
