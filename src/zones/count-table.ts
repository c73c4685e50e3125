import {SQUARE_METRES_PER_ACRE, SQUARE_METRES_PER_HECTARE} from "../units/factors.ts";
import {formatNumber, type UnitSystem} from "../units/format.ts";
import type {CountChoice} from "./choose-count.ts";
import type {Costed} from "./choose-rule.ts";

/** One column of the comparison of counts, in text: what every printer of tables takes. */
export interface CountColumn {
  /** Lines of the heading, the unit last. */
  readonly head: readonly string[];
  readonly align: "left" | "right";
  readonly cells: readonly string[];
}

/** The comparison of counts as columns of text; the recommended one is marked. */
export function countColumns({rows, keptBack, recommended}: CountChoice, system: UnitSystem = "us"): CountColumn[] {
  const column = (head: readonly string[], text: (row: Costed) => string): CountColumn => ({
    head,
    align: "right",
    cells: rows.map(text),
  });
  const index = (value: number, decimals: number): string =>
    Number.isNaN(value) ? "–" : formatNumber(value, decimals);
  const percent = (share: number | undefined): string =>
    share === undefined || Number.isNaN(share) ? "–" : formatNumber(100 * share, 1);
  const [unit, size] = system === "us" ? ["ac", SQUARE_METRES_PER_ACRE] : ["ha", SQUARE_METRES_PER_HECTARE];
  const area = (value: number): string => formatNumber(value / (size as number), 1);
  const columns = [
    column(["zones"], ({count}) => `${count}${count === recommended.count ? " ◂" : "  "}`),
    column(["FPI"], ({fpi}) => index(fpi, 3)),
    column(["NCE", "H/ln c"], ({entropyByLog}) => index(entropyByLog, 3)),
    column(["NCE", "H/(1−c/n)"], ({entropyBySize}) => index(entropyBySize, 3)),
    column(["silhou-", "ette"], (row) => index(row.silhouette, 3)),
    column(["Caliński-", "Harabasz"], (row) => index(row.calinskiHarabasz, 0)),
    column(["explained", "clustered", "%"], ({explained}) => percent(explained.clustered)),
    column(["explained", "tidied", "%"], ({explained}) => percent(explained.tidied)),
    column([keptBack.length > 0 ? "kept back" : "other half", "%"], ({heldOut}) => percent(heldOut.explained)),
    column(["by chance", "under, %"], ({heldOut}) => percent(heldOut.byChance?.high)),
    column(["smallest", "clustered", unit as string], ({smallest}) => area(smallest.clustered)),
    column(["smallest", "tidied", unit as string], ({smallest}) => area(smallest.tidied)),
    column(["zones", "left"], ({left}) => String(left)),
    column(["com-", "posites"], ({composites}) => String(composites)),
  ];
  if (rows.some(({cost}) => cost !== undefined)) {
    columns.push(column(["cost", "$"], ({cost}) => (cost === undefined ? "–" : formatNumber(cost, 2))));
  }
  return columns;
}
