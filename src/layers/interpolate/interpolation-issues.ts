import type {Issue} from "../../errors.ts";
import {coveragePct} from "../../grid/coverage.ts";
import type {Layer} from "../../grid/layer.ts";
import type {VariogramModel} from "../../stats/covariance.ts";
import {formatNumber, formatShort} from "../../units/format.ts";
import {FEWEST_FOR_KRIGING} from "./choose-method.ts";
import type {SpatialStructure} from "./judge-structure.ts";
import type {Places} from "./merge-places.ts";
import {describeModel, type InterpolationMethod} from "./methods.ts";

/** From here on a variogram is steady (Webster and Oliver 1992, J. Soil Sci. 43:177). */
const STEADY_VARIOGRAM = 100;

const BY: Readonly<Record<InterpolationMethod, string>> = {
  kriging: "kriging",
  "inverse distance": "inverse distance",
  nearest: "the nearest point",
  mean: "their mean",
};

/** How a layer came about, and what its reader should be careful of. */
export function interpolationIssues(
  {label, values}: Layer,
  mask: Uint8Array,
  places: Places,
  by: {
    readonly method: InterpolationMethod;
    /** Empty where the method was asked for. */
    readonly why: string;
    readonly withinM: number;
    readonly model?: VariogramModel | undefined;
    readonly structure?: SpatialStructure | undefined;
  },
): Issue[] {
  const {method, why, withinM, model, structure} = by;
  const message = [
    `${label} was interpolated from ${formatNumber(places.known)} points by ${BY[method]}.`,
    why,
    model
      ? `Variogram: ${describeModel(model, threeFigures)}${model === structure?.fit?.model ? drawnFrom(structure) : ""}.`
      : "",
  ];
  const issues: Issue[] = [
    {code: "layers/interpolated-points", severity: "note", message: message.filter(Boolean).join(" ")},
  ];
  const count = places.x.length;
  if (places.known > count) {
    issues.push({
      code: "layers/points-at-one-place",
      severity: "note",
      message: `${formatNumber(places.known - count)} of the points of ${label} lie where another does; each place takes the mean of its points.`,
    });
  }
  if (method === "kriging" && count < STEADY_VARIOGRAM) {
    issues.push({
      code: "layers/unsteady-variogram",
      severity: count < FEWEST_FOR_KRIGING ? "warning" : "note",
      message: `The variogram of ${label} rests on ${count} places and is steady from about ${STEADY_VARIOGRAM} on, so its standard errors are rough.`,
    });
  }
  const covered = coveragePct(values, mask);
  if (covered < 99.5) {
    issues.push({
      code: "layers/gaps",
      severity: "warning",
      message: `${label} reaches ${formatNumber(covered)} % of the field; the rest is more than ${formatNumber(withinM)} m from any point.`,
    });
  }
  return issues;
}

/** Of a long log: how many of its points the variogram was drawn from. */
function drawnFrom({sample: {known, compared, seed}}: SpatialStructure): string {
  return compared < known
    ? `, drawn from ${formatNumber(compared)} of ${formatNumber(known)} places chosen by chance (seed ${seed})`
    : "";
}

/** 0.0507, 4.99, 1,025. */
function threeFigures(value: number): string {
  return formatShort(value, value > 0 ? Math.max(0, 2 - Math.floor(Math.log10(value))) : 0);
}
