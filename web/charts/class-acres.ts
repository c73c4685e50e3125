import type {ComparisonRow, Strategy} from "../api/types.ts";

export interface ClassRow {
  readonly strategy: Strategy;
  /** In the order of the classes; ground a strategy has no result for is the last. */
  readonly parts: readonly {readonly testClass: string; readonly from: number; readonly acres: number}[];
}

export interface ClassAcres {
  /** The guide's, from the poorest test to the richest. */
  readonly classes: readonly string[];
  readonly rows: readonly ClassRow[];
}

/** Ground by class of the soil test, laid end to end for each strategy that has tests of the nutrient. */
export function classAcres(rows: readonly ComparisonRow[], nutrient: string): ClassAcres {
  const of = (row: ComparisonRow) => row.acresByClass[nutrient as keyof ComparisonRow["acresByClass"]];
  const tested = rows.filter((row) => of(row) !== undefined);
  const classes = [...new Set(tested.flatMap((row) => (of(row) ?? []).map(({testClass}) => testClass)))];
  return {
    classes,
    rows: tested.map((row): ClassRow => {
      let from = 0;
      const parts = classes.map((testClass) => {
        const acres = of(row)?.find((one) => one.testClass === testClass)?.acres ?? 0;
        const part = {testClass, from, acres};
        from += acres;
        return part;
      });
      return {strategy: row.strategy, parts};
    }),
  };
}
