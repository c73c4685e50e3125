import type {Method} from "../../lab/soil-test.ts";
import type {Basis} from "../guide.ts";

/** A soil-test phosphorus value from which a state's rules or advice say something. Advisory: rules change. */
export interface PhosphorusThreshold {
  readonly state: string;
  readonly methods: readonly Method[];
  /** ppm. */
  readonly above: number;
  readonly says: string;
  readonly source: string;
  readonly basis: Basis;
}

const MEHLICH_3: readonly Method[] = ["mehlich-3 icp", "mehlich-3 colorimetric", "mehlich-3"];
const BRAY: readonly Method[] = ["bray-1"];
const OLSEN: readonly Method[] = ["olsen"];

/** States without a number of their own (Iowa, Maryland and others) work with a phosphorus index instead. */
export const PHOSPHORUS_THRESHOLDS: readonly PhosphorusThreshold[] = [
  row("OH", MEHLICH_3, 50, "no agronomic need for phosphorus", "Ohio State University best-practice pages", "printed"),
  row("OH", MEHLICH_3, 120, "apply no phosphorus", "Ohio State University best-practice pages", "printed"),
  row("OH", BRAY, 150, "apply no phosphorus", "Ohio State University, an older page", "printed"),
  row(
    "DE",
    MEHLICH_3,
    100,
    "above optimum",
    "Sims and others (2002), Soil Science Society of America Journal",
    "printed",
  ),
  row(
    "DE",
    MEHLICH_3,
    150,
    "environmental concern",
    "Sims and others (2002), Soil Science Society of America Journal",
    "printed",
  ),
  row("PA", MEHLICH_3, 200, "a phosphorus index is required", "Pennsylvania practice", "from memory"),
  row("MI", BRAY, 75, "manure no more than crops remove", "Michigan practice", "from memory"),
  row("MI", BRAY, 150, "apply no manure phosphorus", "Michigan practice", "from memory"),
  row("IL", BRAY, 150, "livestock manure by phosphorus (300 lb/ac)", "Illinois livestock rules", "from memory"),
  row("IN", MEHLICH_3, 50, "first tier for confined feeding operations", "Indiana rules", "from memory"),
  row("IN", MEHLICH_3, 100, "second tier for confined feeding operations", "Indiana rules", "from memory"),
  row("IN", MEHLICH_3, 200, "third tier for confined feeding operations", "Indiana rules", "from memory"),
  row("WI", BRAY, 50, "soil-test option of the nutrient rules, first step", "Wisconsin practice", "from memory"),
  row("WI", BRAY, 100, "soil-test option of the nutrient rules, second step", "Wisconsin practice", "from memory"),
  row("MN", BRAY, 75, "limits on manure near water, first step", "Minnesota rules", "from memory"),
  row("MN", BRAY, 150, "limits on manure near water, second step", "Minnesota rules", "from memory"),
  row("MN", OLSEN, 60, "limits on manure near water, first step", "Minnesota rules", "from memory"),
  row("MN", OLSEN, 120, "limits on manure near water, second step", "Minnesota rules", "from memory"),
];

function row(
  state: string,
  methods: readonly Method[],
  above: number,
  says: string,
  source: string,
  basis: Basis,
): PhosphorusThreshold {
  return {state, methods, above, says, source, basis};
}
