import type {Feature, Properties} from "../../geo/features.ts";

/** Types of columns, by the names GeoPackage gives them. Dates are text: "2026-04-15", "2026-04-15T13:30:00.000Z". */
export type ColumnType = "BOOLEAN" | "INTEGER" | "REAL" | "TEXT" | "DATE" | "DATETIME";

export interface Column {
  readonly name: string;
  readonly type: ColumnType;
}

interface AnyTable {
  /** As people call it; the name in the database is made from it. */
  readonly name: string;
  readonly description?: string;
  /** Their order and types. Default: every property that occurs, in the order met, typed by its values. */
  readonly columns?: readonly Column[];
}

/** Shapes with attributes. */
export interface FeatureTable extends AnyTable {
  readonly features: readonly Feature[];
}

/** Attributes without shapes. */
export interface AttributeTable extends AnyTable {
  readonly rows: readonly Properties[];
}

export type GeoPackageTable = FeatureTable | AttributeTable;

/** A table as it stands in a file. */
export interface TableSummary {
  /** Name in the database. */
  readonly name: string;
  /** As people call it. */
  readonly title: string;
  readonly kind: "features" | "attributes";
  /** Upper case, as in "MULTIPOLYGON"; absent for attributes. */
  readonly geometry?: string;
  readonly count: number;
  readonly columns: readonly {readonly name: string; readonly type: string}[];
}
