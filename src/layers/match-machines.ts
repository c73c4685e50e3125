import {median} from "../stats/robust.ts";

/** Machines are compared on ground of this size that both harvested, metres. */
const CELL_M = 40;
const LEAST_RECORDS = 5;
const LEAST_CELLS = 5;
/** Differences below this are left alone. */
const LEAST_DIFFERENCE = 0.03;

export interface MachineFactor {
  readonly machine: number;
  /** What the machine's yields are multiplied by. */
  readonly factor: number;
  /** Squares of ground the factor was found on. */
  readonly cells: number;
}

/**
 * Factors that level machines with one another: the median ratio of their median yields over ground they share.
 *
 * The machine with the most records is the reference. Machines that share too little ground with it, or differ by
 * less than 3 %, get no factor.
 */
export function matchMachines(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  machine: Int32Array,
  kept: Int32Array,
): MachineFactor[] {
  const sizes = new Map<number, number>();
  const cells = new Map<string, Map<number, number[]>>();
  for (const i of kept) {
    const name = machine[i] as number;
    sizes.set(name, (sizes.get(name) ?? 0) + 1);
    const key = `${Math.floor((x[i] as number) / CELL_M)},${Math.floor((y[i] as number) / CELL_M)}`;
    const byMachine = cells.get(key) ?? new Map<number, number[]>();
    cells.set(key, byMachine);
    const list = byMachine.get(name);
    if (list) list.push(values[i] as number);
    else byMachine.set(name, [values[i] as number]);
  }
  const names = [...sizes.keys()].sort((a, b) => (sizes.get(b) as number) - (sizes.get(a) as number) || a - b);
  const [reference, ...others] = names;
  if (reference === undefined) return [];
  const factors: MachineFactor[] = [];
  for (const other of others) {
    const ratios: number[] = [];
    for (const byMachine of cells.values()) {
      const ours = byMachine.get(reference) ?? [];
      const theirs = byMachine.get(other) ?? [];
      if (ours.length < LEAST_RECORDS || theirs.length < LEAST_RECORDS) continue;
      const ratio = median(ours) / median(theirs);
      if (Number.isFinite(ratio) && ratio > 0) ratios.push(ratio);
    }
    const factor = median(ratios);
    if (ratios.length >= LEAST_CELLS && Math.abs(factor - 1) > LEAST_DIFFERENCE) {
      factors.push({machine: other, factor, cells: ratios.length});
    }
  }
  return factors;
}
