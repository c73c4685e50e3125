import {isFieldError} from "../errors.ts";
import {toPlane} from "../geo/frame.ts";
import {contains} from "../geo/measure.ts";
import {cellAt} from "../grid/grid.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {AtPoint, ExplainedProduct, ExplainedRate, WorkingPage} from "./api-types.ts";
import type {Viewed} from "./make-results.ts";
import {classesOf, layersOf} from "./result-card.ts";

/** What the recommendations of a pooled plan and the rates of the whole field are of. */
const WHOLE = ["whole field", "WHOLE"];

/** Why a sampling unit gets what it gets; undefined where there is no such unit. */
export function workingOf({run}: Viewed, strategy: string, unit: string): WorkingPage | undefined {
  const rated = run.strategies.find(({plan}) => plan.strategy === strategy);
  const {plan} = rated ?? {};
  if (!rated || !plan) return undefined;
  const sampled = plan.units.find(({id}) => id === unit);
  if (!sampled && !WHOLE.includes(unit)) return undefined;
  const isOf = (name: string): boolean => name === unit || (plan.pooled && WHOLE.includes(name));
  const rates = rated.recommendations
    .filter((recommendation) => isOf(recommendation.unit))
    .map((recommendation): ExplainedRate => {
      const products = rated.prescriptions
        .filter(({nutrient}) => nutrient === recommendation.nutrient)
        .flatMap(({product, unitRates}) =>
          unitRates
            .filter((rate) => isOf(rate.unit))
            .map(
              ({exactLbPerAcre, rateLbPerAcre, heldBy, working}): ExplainedProduct => ({
                code: product.code,
                analysis: product.analysis,
                exactLbPerAcre,
                rateLbPerAcre,
                ...(heldBy && {heldBy}),
                working,
              }),
            ),
        );
      return {...recommendation, products};
    });
  const area = sampled?.area ?? plan.units.reduce((sum, one) => sum + one.area, 0);
  return {
    strategy: strategy as Strategy,
    unit,
    label: sampled?.label ?? "whole field",
    acres: area / SQUARE_METRES_PER_ACRE,
    rates,
    lime: rated.lime.filter((lime) => isOf(lime.unit)),
  };
}

/** What lies at a point: the layers' values, the sampling units and what is spread there. */
export function atPoint(made: Viewed, lon: number, lat: number): AtPoint {
  const {field, run} = made;
  const nowhere: AtPoint = {lon, lat, inside: false, layers: [], units: []};
  const place = placeOf(made, lon, lat);
  if (!place) return nowhere;
  const {x, y} = place;
  const layers = layersOf(made).map(({id, layer}) => {
    const cell = cellAt(layer.grid, x, y);
    const value = cell < 0 ? Number.NaN : (layer.values[cell] as number);
    const name = classesOf(layer)?.[value];
    return {id, label: layer.label, value: name ?? (Number.isNaN(value) ? null : value), unit: layer.unit};
  });
  const units = run.strategies.flatMap(({plan, prescriptions, limeRates}) => {
    const unit = plan.units.find(({shape}) => contains(shape, x, y));
    if (!unit) return [];
    const rates = [...prescriptions, ...(limeRates ? [limeRates] : [])].flatMap(
      ({product: {code, analysis}, polygons}) => {
        const found = polygons.find(({polygon}) => contains([polygon], x, y));
        return found ? [{code, analysis, lbPerAcre: found.rateLbPerAcre}] : [];
      },
    );
    const {id, label, zone} = unit;
    return [{strategy: plan.strategy, unit: id, label, ...(zone !== undefined && {zone}), rates}];
  });
  return {lon, lat, inside: contains(field.outline, x, y), layers, units};
}

/** In the field's frame; undefined for places too far away to be in it. */
function placeOf({field}: Viewed, lon: number, lat: number): {x: number; y: number} | undefined {
  if (Math.abs(lon - field.frame.lon) > 1 || Math.abs(lat - field.frame.lat) > 1) return undefined;
  try {
    return toPlane(field.frame, [lon, lat]);
  } catch (error) {
    if (isFieldError(error)) return undefined;
    throw error;
  }
}
