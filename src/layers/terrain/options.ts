import type {FlowOptions} from "../../grid/flow-accumulation.ts";
import type {PondLimits} from "../../grid/ponding.ts";
import type {GradientMethod} from "../../grid/terrain-gradient.ts";
import type {TerrainName} from "./names.ts";

export interface TerrainOptions {
  /** Gaussian smoothing before anything is derived, sigma in metres: quiets furrows and noise. Default 5. */
  readonly smoothM?: number;
  /** Ground around the field that must be looked at, metres. Default: what the layers need. */
  readonly marginM?: number;
  /** How slope and aspect weigh the 3 × 3 window. Default "horn". */
  readonly gradient?: GradientMethod;
  /** Radius of the ground a cell's relative elevation is measured against, metres. Default 75. */
  readonly relativeRadiusM?: number;
  /** Near position: the ground within the first radius. Far position: from there to the second. Default 50 and 150. */
  readonly radiiM?: {readonly near: number; readonly far: number};
  /** Whether depressions are opened or filled before water runs. Default "breach", and filled where that fails. */
  readonly drainage?: "breach" | "fill";
  /** How far and how deep a cut may be, metres. Default 60 and 1: the banks of a field road. */
  readonly breach?: {readonly reachM: number; readonly depthM: number};
  /** How water runs on. Default: shared out, with an exponent of 1.1. */
  readonly flow?: Pick<FlowOptions, "method" | "exponent">;
  readonly ponds?: PondLimits;
}

export interface SettledTerrain {
  readonly smoothM: number;
  readonly marginM: number;
  readonly gradient: GradientMethod;
  readonly relativeRadiusM: number;
  readonly radiiM: {readonly near: number; readonly far: number};
  readonly drainage: "breach" | "fill";
  readonly breach: {readonly reachM: number; readonly depthM: number};
  readonly flow: Required<Pick<FlowOptions, "method" | "exponent">>;
  readonly ponds: Required<PondLimits>;
}

/** Ground that water is followed over beyond the field, metres. */
const FLOW_MARGIN_M = 150;
const NEEDS_FLOW: readonly TerrainName[] = ["catchment area", "water from beyond", "wetness", "ponding"];

/** Every option as it will be used, and the margin that the layers wanted need: what they look at, and the smoothing. */
export function settleTerrain(
  make: readonly TerrainName[],
  cellSizeM: number,
  options: TerrainOptions,
): SettledTerrain {
  const {smoothM = 5, relativeRadiusM = 75, radiiM = {near: 50, far: 150}} = options;
  const looks = [relativeRadiusM, options.marginM ?? 0];
  if (make.includes("near position")) looks.push(radiiM.near);
  if (make.includes("far position")) looks.push(radiiM.far);
  if (make.some((name) => NEEDS_FLOW.includes(name))) looks.push(FLOW_MARGIN_M);
  return {
    smoothM,
    marginM: Math.max(...looks) + 3 * smoothM + cellSizeM,
    gradient: options.gradient ?? "horn",
    relativeRadiusM,
    radiiM,
    drainage: options.drainage ?? "breach",
    breach: options.breach ?? {reachM: 60, depthM: 1},
    flow: {method: options.flow?.method ?? "fd8", exponent: options.flow?.exponent ?? 1.1},
    ponds: {leastDepthM: options.ponds?.leastDepthM ?? 0.05, leastAreaM2: options.ponds?.leastAreaM2 ?? 100},
  };
}
