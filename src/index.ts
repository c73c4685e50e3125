// The library, stage by stage. Hosts (the command line, a server) and tests use the same functions.

// 7 comparison and what people read
export {compareStrategies} from "./compare/compare-strategies.ts";
export type {Comparison} from "./compare/comparison.ts";
export {FieldError, type Issue, isFieldError, type Place} from "./errors.ts";
// the whole job
export type {FileSet} from "./formats/file-set.ts";
// geography
export {type Crs, crsFromEpsg, crsFromText, crsFromWkt} from "./geo/crs.ts";
export type {Feature, FeatureSet, Geometry} from "./geo/features.ts";
export {type Field, makeField} from "./geo/field.ts";
export {frameAt, type LocalFrame, toLonLat, toPlane} from "./geo/frame.ts";
export {geodesicAreaM2} from "./geo/geodesic.ts";
export {loadGeos} from "./geo/geos.ts";
export {dissolve, type Partition, partition} from "./geo/partition.ts";
export type {LonLat, LonLatMultiPolygon, MultiPolygon, Polygon, Ring, XY} from "./geo/shapes.ts";
export {type Grid, gridOver} from "./grid/grid.ts";
export type {ClassLayer, Layer, LayerUnit} from "./grid/layer.ts";
export type {Raster} from "./grid/raster.ts";
// 4 lab
export {assignTests} from "./lab/assign-tests.ts";
export {toMgPerKg} from "./lab/convert.ts";
export {matchTests} from "./lab/match-tests.ts";
export {readLab} from "./lab/read-lab.ts";
export type {Analyte, Method, SoilTest, SoilTestUnit, UnitValue} from "./lab/soil-test.ts";
export {valuesOf} from "./lab/values-of.ts";
// 1 layers
export {type CleanedYield, cleanYield} from "./layers/clean-yield.ts";
export {gridPoints} from "./layers/grid-points.ts";
export {gridYield} from "./layers/grid-yield.ts";
export {type Interpolated, interpolatePoints, type MeasuredPoints} from "./layers/interpolate/interpolate-points.ts";
export {averageSeasons, normaliseSeason} from "./layers/seasons.ts";
export {soilMapLayers} from "./layers/soil-map.ts";
export {terrainLayers} from "./layers/terrain.ts";
export type {YieldLog} from "./layers/yield-log.ts";
export {filesOf} from "./pipeline/files-of.ts";
export type {Host} from "./pipeline/host.ts";
export type {Job} from "./pipeline/job.ts";
export {readJob} from "./pipeline/read-job.ts";
export {type RunResult, runJob} from "./pipeline/run.ts";
// 6 prescription
export {buildPrescription} from "./prescription/build-prescription.ts";
export {checkPrescription} from "./prescription/check-prescription.ts";
export {inspectRates} from "./prescription/inspect-rates.ts";
export {parseProduct} from "./prescription/parse-product.ts";
export type {MachineLimits, Prescription, Product, RatePolygon} from "./prescription/prescription.ts";
export type {Receipt} from "./prescription/receipt.ts";
export type {Provenance} from "./provenance.ts";
// 5 recommendation
export {findGuide, GUIDES} from "./recommend/find-guide.ts";
export type {Guide} from "./recommend/guide.ts";
export {poolTests} from "./recommend/pool-tests.ts";
export {recommend} from "./recommend/recommend.ts";
export type {Recommendation, WorkingStep} from "./recommend/recommendation.ts";
export {ledgerText} from "./report/ledger-text.ts";
export {workingText} from "./report/working-text.ts";
// 3 sampling
export {type PlansWithin, plansWithin} from "./sampling/budget.ts";
export {planGrid} from "./sampling/by-grid.ts";
export {planPoints} from "./sampling/by-points.ts";
export {planZones} from "./sampling/by-zone.ts";
export {coresNeeded, expectedErrorPct} from "./sampling/cores-needed.ts";
export {type KeepOut, makeKeepOut} from "./sampling/keep-outs.ts";
export {timeOnField} from "./sampling/pace.ts";
export type {Core, SamplingPlan, SamplingUnit, Strategy} from "./sampling/plan.ts";
export {repeatPlan} from "./sampling/repeat-plan.ts";
export {validationSet} from "./sampling/validation-set.ts";
export {walkingOrder} from "./sampling/walking-order.ts";
export {planWholeField} from "./sampling/whole-field.ts";
export type {Table} from "./table.ts";
// units
export {formatArea, formatLength, formatNumber, roundHalfAway} from "./units/format.ts";
export {K2O_PER_K, type Nutrient, P2O5_PER_P} from "./units/nutrient.ts";
export {parseArea, parseLength, parseRateLbPerAcre} from "./units/parse.ts";
export {type Metres, metres, type SquareMetres, squareMetres} from "./units/quantity.ts";
// 2 zones
export {buildZones} from "./zones/build-zones.ts";
export {replayEdits} from "./zones/edit/replay-edits.ts";
export type {EditOutcome, ZoneEdit, ZonePlace} from "./zones/edit/zone-edit.ts";
export {importZones} from "./zones/import-zones.ts";
export {judgeZones} from "./zones/judge/judge-zones.ts";
export type {Judgement} from "./zones/judge/judgement.ts";
export {profileZones, type ZoneProfile} from "./zones/profile.ts";
export {type Stability, zoneStability} from "./zones/stability.ts";
export type {Zone, ZoneMap} from "./zones/zone-map.ts";
