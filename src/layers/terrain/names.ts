import type {LayerUnit} from "../../grid/layer.ts";

export interface TerrainKind {
  /** Of the layer, and of its column and file. */
  readonly id: string;
  readonly label: string;
  readonly unit: LayerUnit;
}

/** Every layer that heights give, by the words a person asks for it with. Fixed order. */
export const TERRAIN = {
  elevation: {id: "elevation", label: "Elevation", unit: "m"},
  slope: {id: "slope", label: "Slope", unit: "deg"},
  aspect: {id: "aspect", label: "Aspect", unit: "deg"},
  northness: {id: "northness", label: "Northness", unit: "1"},
  eastness: {id: "eastness", label: "Eastness", unit: "1"},
  "profile curvature": {id: "profile-curvature", label: "Profile curvature", unit: "1/m"},
  "plan curvature": {id: "plan-curvature", label: "Plan curvature", unit: "1/m"},
  "tangential curvature": {id: "tangential-curvature", label: "Tangential curvature", unit: "1/m"},
  "mean curvature": {id: "mean-curvature", label: "Mean curvature", unit: "1/m"},
  "general curvature": {id: "general-curvature", label: "General curvature", unit: "1/m"},
  "relative elevation": {id: "relative-elevation", label: "Relative elevation", unit: "m"},
  "near position": {id: "near-position", label: "Position, near", unit: "m"},
  "far position": {id: "far-position", label: "Position, far", unit: "m"},
  "catchment area": {id: "catchment-area", label: "Catchment area", unit: "m2"},
  "water from beyond": {id: "water-from-beyond", label: "Water from beyond the heights", unit: "1"},
  wetness: {id: "wetness", label: "Wetness index", unit: "1"},
  ponding: {id: "ponding", label: "Depth of ponds", unit: "m"},
} as const satisfies Record<string, TerrainKind>;

export type TerrainName = keyof typeof TERRAIN;

export const TERRAIN_NAMES = Object.keys(TERRAIN) as [TerrainName, ...TerrainName[]];

/**
 * Those that zones may be made from. Not aspect, where 1 and 359 degrees are neighbours; not plan curvature, without
 * end on gentle ground; not catchment area, a thousandfold from ridge to swale, which wetness says in even steps.
 */
export const TERRAIN_FEATURES = [
  "elevation",
  "slope",
  "northness",
  "eastness",
  "profile curvature",
  "tangential curvature",
  "mean curvature",
  "general curvature",
  "relative elevation",
  "near position",
  "far position",
  "wetness",
  "ponding",
] as const satisfies readonly TerrainName[];
