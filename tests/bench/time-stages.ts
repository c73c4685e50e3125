import {nodeHost} from "../../src/cli/node-host.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import {cellCount, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {gridYield} from "../../src/layers/grid-yield.ts";
import {averageSeasons, normaliseSeason} from "../../src/layers/seasons.ts";
import {type FieldLayers, makeLayers} from "../../src/pipeline/make-layers.ts";
import {makePlan} from "../../src/pipeline/make-plans.ts";
import {prescribePlan, productsOf} from "../../src/pipeline/make-prescriptions.ts";
import {recommendPlan, resultsByPlan} from "../../src/pipeline/make-rates.ts";
import {rateFiles} from "../../src/pipeline/rate-files.ts";
import {guideOf} from "../../src/pipeline/rate-options.ts";
import {readField} from "../../src/pipeline/read-inputs.ts";
import {readLabFiles} from "../../src/pipeline/read-lab-files.ts";
import {readYield} from "../../src/pipeline/read-yield.ts";
import {runJob} from "../../src/pipeline/run.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {BenchField} from "./quarter-section.ts";
import {shortest} from "./stopwatch.ts";

export interface StageTime {
  readonly stage: string;
  readonly seconds: number;
  /** What was worked through, and how many of it. */
  readonly count: number;
  readonly of: string;
}

const RUNS = 3;

/** Times every stage on one field with what a run hands it, then the whole run once. */
export async function timeStages({job, files, labFor}: BenchField): Promise<StageTime[]> {
  const times: StageTime[] = [];
  const time = async <T>(stage: string, of: string, count: (value: T) => number, work: () => T | Promise<T>) => {
    const {seconds, value} = await shortest(stage === WHOLE_RUN ? 1 : RUNS, work);
    times.push({stage, seconds, count: count(value), of});
    return value;
  };
  await loadGeos();
  const host = nodeHost(true);
  const {yield: sources, soilMap, elevation, ...layerSettings} = job.layers;
  const [source] = sources;
  if (!source) throw new Error("a field without yield logs has nothing to time");

  const field = await readField(job, files, []);
  const grid = gridOver(field.frame, boxOf(field.outline), job.layers.cellSize, 0, job.layers.mostCells);
  const mask = maskOf(grid, field.outline);
  const cells = cellCount(grid);

  const [first] = await time(
    "read one season",
    "records",
    ([season]) => season?.log.x.length ?? 0,
    () => readYield(field, files, source, []),
  );
  if (!first) throw new Error(`${source.file} holds no season`);
  const {log} = first;
  const delay = source.delay === undefined ? {} : {delayS: source.delay};
  const cleaned = await time(
    "clean one season",
    "records",
    () => log.x.length,
    () => cleanYield(log, field, delay),
  );
  await time(
    "grid one season",
    "records",
    () => log.x.length,
    () => normaliseSeason(gridYield(cleaned, grid, mask).layer),
  );
  const soilJob = {...job, layers: {...layerSettings, yield: [], soilMap}};
  await time(
    "soil map",
    "cells",
    () => cells,
    () => makeLayers(soilJob, field, files, host, []),
  );
  const terrainJob = {...job, layers: {...layerSettings, yield: [], elevation}};
  await time(
    "elevation and terrain",
    "cells",
    () => cells,
    () => makeLayers(terrainJob, field, files, host, []),
  );

  const layers = await makeLayers(job, field, files, host, []);
  const seasons = layers.seasons.map(({layer}) => layer);
  await time(
    "average the seasons",
    "cells",
    () => cells,
    () => averageSeasons(seasons),
  );
  const {count, minArea, smoothing, weights, restarts} = job.zones;
  const zoneMap = await time(
    "zones",
    "cells",
    () => cells,
    () =>
      buildZones(
        {field, grid, features: layers.features},
        {count: count === "choose" ? 4 : count, minArea, smoothing, weights, restarts, seed: job.seed},
      ),
  );
  const plans: SamplingPlan[] = [];
  for (const strategy of job.strategies) {
    plans.push(
      await time(
        `plan ${strategy}`,
        "cores",
        ({units}) => units.reduce((sum, {cores}) => sum + cores.length, 0),
        () => makePlan(job, field, strategy, zoneMap),
      ),
    );
  }

  const all = new Map([...files, ...(labFor?.(plans) ?? [])]);
  const units = plans.reduce((sum, plan) => sum + plan.units.length, 0);
  const {byPlan} = await time(
    "lab",
    "units",
    () => units,
    async () => resultsByPlan(job, plans, await readLabFiles(job, field, all, [])),
  );
  if (!job.rates) throw new Error("the bench times a job with rates");
  const {rates} = job;
  const guide = guideOf(rates, all);
  const products = productsOf(job);
  const nutrients = [...new Set(products.map(({nutrient}) => nutrient))];
  const prescriptions = await time(
    "rates",
    "units",
    () => units,
    () =>
      plans.map((plan, i) => {
        const {recommendations} = recommendPlan({rates, guide, nutrients}, plan, byPlan[i] ?? new Map());
        return prescribePlan(job, field, plan, recommendations, products);
      }),
  );
  await time(
    "rate files and receipts",
    "units",
    () => units,
    async () => {
      for (const ofPlan of prescriptions) await rateFiles(field, ofPlan);
    },
  );
  await time(
    WHOLE_RUN,
    "records",
    ({layers: made}) => recordsOf(made),
    () => runJob(job, all, host),
  );
  host.done();
  return times;
}

const WHOLE_RUN = "whole run, once";

const recordsOf = (layers: FieldLayers | undefined): number =>
  layers?.seasons.reduce((sum, {cleaned}) => sum + cleaned.reason.length, 0) ?? 0;
