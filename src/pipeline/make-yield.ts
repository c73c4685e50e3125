import {withPlace} from "../errors.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import type {CleanYieldOptions} from "../layers/clean-options.ts";
import {type CleanedYield, cleanYield} from "../layers/clean-yield.ts";
import {gridYield} from "../layers/grid-yield.ts";
import {
  averageSeasons,
  normaliseSeason,
  type SeasonAverage,
  type SeasonScale,
  type SeasonUnit,
} from "../layers/seasons.ts";
import {mergeSeason, type SeasonPart} from "../layers/seasons-merge.ts";
import {seasonStability, type UnstableAbove} from "../layers/seasons-stability.ts";
import type {Provenance} from "../provenance.ts";
import {cleanedPointFiles} from "./cleaned-points.ts";
import {step} from "./host.ts";
import type {YieldFile} from "./job.ts";
import type {LayerWork} from "./make-layers.ts";
import type {Remarks} from "./read-inputs.ts";
import {readYield} from "./read-yield.ts";

export interface YieldLayers {
  /** Layers zones are made from: the mean of the seasons, and what the job asked for beside it. */
  readonly features: readonly (Layer | ClassLayer)[];
  readonly seasons: readonly {readonly cleaned: CleanedYield; readonly layer: Layer<SeasonUnit>}[];
  /** Over all seasons, whether zones are made from them or not; absent without logs. */
  readonly average?: SeasonAverage;
  readonly stability?: ClassLayer;
  readonly steps: readonly Provenance[];
  /** Records with their reasons, where the job asks for them. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
}

/** Yield logs read, cleaned, laid on the grid, made comparable and averaged. */
export async function makeYield({job, field, files, grid, mask, host, remarks}: LayerWork): Promise<YieldLayers> {
  const {cleanedPoints, seasons: wanted} = job.layers;
  const parts: {cleaned: CleanedYield; part: SeasonPart}[] = [];
  const outputs = new Map<string, Uint8Array>();
  for (const source of job.layers.yield) {
    await step(host, `reading ${source.file}`);
    const {file} = source;
    const logs = [...(await readYield(field, files, source, remarks))];
    // Each log is let go of once it is cleaned: a file of many seasons holds them one at a time.
    for (let next = logs.shift(); next; next = logs.shift()) {
      const {log, groups} = next;
      await step(host, `cleaning ${log.crop} ${log.season}`);
      const cleaned = withPlace({file}, () => cleanYield(log, field, cleanOptionsOf(source), groups));
      const gridded = withPlace({file}, () =>
        gridYield(cleaned, grid, mask, {
          ...(groups && {groups}),
          ...(source.surface && {surface: source.surface, seed: job.seed}),
        }),
      );
      remarks.push(
        ...[...cleaned.issues, ...gridded.issues].map((issue) => ({...issue, place: {file, ...issue.place}})),
      );
      parts.push({cleaned, part: gridded});
      if (source.cleanedPoints ?? cleanedPoints) {
        const bushels = source.bushelWeight;
        for (const [name, bytes] of cleanedPointFiles(field, cleaned, bushels, outputs)) outputs.set(name, bytes);
      }
    }
  }
  const layers = relativeSeasons(parts, wanted?.scale ?? "percent of mean", remarks);
  const seasons = parts.map(({cleaned}) => ({cleaned, layer: layers.get(cleaned.season) as Layer<SeasonUnit>}));
  const steps = seasons.map(({cleaned}) => cleaned.madeFrom);
  if (seasons.length === 0) return {features: [], seasons, steps, outputs};
  const average = averageSeasons([...layers.values()]);
  remarks.push(...average.issues);
  const stability = wanted?.stability
    ? seasonStability(average, {
        ...(wanted.unstableAbove !== undefined && {unstableAbove: wanted.unstableAbove as UnstableAbove}),
        ...(wanted.leastSeasons !== undefined && {leastSeasons: wanted.leastSeasons}),
      })
    : undefined;
  remarks.push(...(stability?.issues ?? []));
  const spread = wanted?.spread ? [average.spread] : [];
  const classes = stability ? [stability.classes] : [];
  return {
    features: [average.mean, ...spread, ...classes],
    seasons,
    average,
    ...(stability && {stability: stability.classes}),
    steps,
    outputs,
  };
}

/** One relative layer for each season, whatever the count of its logs. */
function relativeSeasons(
  parts: readonly {readonly cleaned: CleanedYield; readonly part: SeasonPart}[],
  scale: SeasonScale,
  remarks: Remarks,
): Map<number, Layer<SeasonUnit>> {
  const bySeason = new Map<number, Map<string, SeasonPart[]>>();
  for (const {cleaned, part} of parts) {
    const crops = bySeason.get(cleaned.season) ?? new Map<string, SeasonPart[]>();
    bySeason.set(cleaned.season, crops);
    // Logs of one crop share its mean; those of another crop, or set against their own groups, do not.
    const kind = `${cleaned.crop} ${part.layer.unit}`;
    crops.set(kind, [...(crops.get(kind) ?? []), part]);
  }
  const relative = new Map<number, Layer<SeasonUnit>>();
  for (const [season, crops] of bySeason) {
    const logs = [...crops.values()].reduce((sum, {length}) => sum + length, 0);
    if (logs > 1) {
      remarks.push({
        code: "yield/logs-merged",
        severity: "note",
        message: `The ${logs} logs of ${season} were put together into one season.`,
      });
    }
    const levelled = [...crops.values()].map((own) => {
      const {layer, records} = mergeSeason(own);
      const {layer: normal, issues} = normaliseSeason(layer, undefined, scale);
      const [first] = layer.madeFrom.inputs;
      const place = parts.find(({cleaned}) => cleaned.id === first);
      remarks.push(...issues.map((issue) => (place ? {...issue, place: {file: place.cleaned.id}} : issue)));
      return {layer: normal, records};
    });
    relative.set(season, mergeSeason(levelled).layer);
  }
  return relative;
}

function cleanOptionsOf(source: YieldFile): CleanYieldOptions {
  const {delay, headerWidth, weighed, levelDays, boundaryIsExact, yieldFrom} = source;
  return {
    ...(delay !== undefined && {delayS: delay}),
    ...(headerWidth !== undefined && {swathM: headerWidth}),
    ...(weighed !== undefined && {scaleTicketKg: weighed}),
    ...(levelDays !== undefined && {matchDays: levelDays}),
    ...(boundaryIsExact !== undefined && {clipSwathToBoundary: boundaryIsExact}),
    ...(yieldFrom !== undefined && {yieldFrom}),
  };
}
