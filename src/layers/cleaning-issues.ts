import {FieldError, type Issue} from "../errors.ts";
import {KG_PER_HA_PER_LB_PER_ACRE} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import type {CleanedYield} from "./clean-yield.ts";
import type {EffectiveSwath} from "./effective-swath.ts";
import type {MachineFactor} from "./match-machines.ts";
import type {Harvest} from "./record-yield.ts";
import {THINNED, type Track} from "./track.ts";
import {type CrossCheck, crossCheckIssue} from "./yield-cross-check.ts";
import type {YieldLog} from "./yield-log.ts";
import type {YieldStatistics} from "./yield-statistics.ts";

/** Cleaning that takes less or more than this of a log deserves a look. Percent of records. */
const USUAL_REMOVED_PCT: readonly [number, number] = [5, 40];
/** Whole-field means outside are another unit or another crop more often than a harvest, t/ha. Common sense, no source. */
const USUAL_MEAN_T_PER_HA: Readonly<Record<string, readonly [number, number]>> = {
  corn: [1.5, 22],
  soybean: [0.6, 8],
  wheat: [0.6, 14],
  oats: [0.5, 10],
  barley: [0.6, 12],
};
/** Cleaning should not move the field's mean further than this. */
const MOST_MEAN_CHANGE = 0.05;

interface Found {
  readonly counts: CleanedYield["counts"];
  readonly delay: CleanedYield["delay"];
  readonly swath: EffectiveSwath | undefined;
  readonly machineFactors: readonly MachineFactor[];
  readonly harvest: Harvest;
  readonly track: Track;
  readonly before: YieldStatistics;
  readonly after: YieldStatistics;
  readonly meanByArea: number;
  readonly crossCheck?: CrossCheck;
}

/**
 * What the user should know of a cleaning.
 *
 * @throws {FieldError} `yield/none-kept` when nothing is left.
 */
export function cleaningIssues(log: YieldLog, found: Found): Issue[] {
  const {counts, track, harvest, before, after} = found;
  const total = track.record.length;
  const issues: Issue[] = [];
  const say = (severity: Issue["severity"], code: string, message: string, hint?: string): void => {
    issues.push({code, severity, message, ...(hint ? {hint} : {})});
  };
  const compared = found.crossCheck && crossCheckIssue(log, found.crossCheck);
  if (compared) issues.push(compared);
  distanceIssues(log, track, say);
  if (counts.kept === 0) {
    const worst = Object.entries(counts).reduce((a, b) => (b[1] > a[1] ? b : a));
    throw new FieldError(
      "yield/none-kept",
      `No record of ${log.id} can be used: ${worst[1]} of ${total} are "${worst[0]}".`,
      {
        hint: "Check that the log belongs to this field and that the units of its columns are right.",
        issues,
      },
    );
  }
  levelIssue(log, after.mean, say);
  orderIssues(log, track, say);
  missingIssues(log, track, say);
  delayIssues(log, found.delay, track, say);
  swathIssues(log, found.swath, say);
  if (harvest.moisturesReplaced > 0) {
    say(
      "note",
      "yield/moisture-replaced",
      `${formatNumber(harvest.moisturesReplaced)} grain moistures of ${log.id} are missing or out of range; the median of their pass was taken.`,
    );
  }
  if (harvest.from === "flow" && !log.moisturePct) {
    say(
      "warning",
      "yield/no-moisture",
      `${log.id} has no grain moisture: yields are as cut, not at ${log.standardMoisturePct} %.`,
      "Name the moisture column if there is one.",
    );
  }
  for (const {machine, day, factor, cells} of found.machineFactors) {
    const work = day === undefined ? `machine ${machine}` : `day ${day} of machine ${machine}`;
    say(
      "note",
      "yield/machine-levelled",
      `Yields of ${work} were multiplied by ${formatNumber(factor, 3)} to match the others on ${cells} squares of shared ground.`,
      "Check the calibration of the machines against their weigh tickets.",
    );
  }
  const removedPct = 100 * (1 - counts.kept / total);
  const [least, most] = USUAL_REMOVED_PCT;
  if (track.ordered && (removedPct < least || removedPct > most)) {
    say(
      "warning",
      "yield/unusual-share-removed",
      `Cleaning set aside ${formatNumber(removedPct, 1)} % of the ${formatNumber(total)} records of ${log.id}; 10 to 30 % is usual.`,
      "Look at the reasons: one large reason points to a wrong unit, width or boundary.",
    );
  }
  const change = after.mean / found.meanByArea - 1;
  if (Math.abs(change) > MOST_MEAN_CHANGE) {
    say(
      "warning",
      "yield/mean-changed",
      `Cleaning moved the mean yield of ${log.id} from ${formatNumber(found.meanByArea, 2)} to ${formatNumber(after.mean, 2)} t/ha.`,
      "Compare both with the weighed grain.",
    );
  }
  if (before.count > 0 && after.median === 0) {
    say(
      "warning",
      "yield/all-zero",
      `Half of the kept records of ${log.id} have a yield of zero.`,
      "Check the yield column.",
    );
  }
  return issues;
}

type Say = (severity: Issue["severity"], code: string, message: string, hint?: string) => void;

function orderIssues(log: YieldLog, track: Track, say: Say): void {
  if (!track.ordered) {
    const tracked = Boolean(log.timeS ?? log.intervalS ?? log.distanceM ?? log.speedMPerS ?? log.pass);
    say(
      tracked ? "warning" : "note",
      "yield/no-order",
      tracked
        ? `The rows of ${log.id} do not follow a machine's path, so delay, pass ends and swath could not be looked at.`
        : `${log.id} is a set of points, not a machine's log: only position and outliers were checked.`,
      tracked
        ? "Give the rows in the order they were logged, with a time column, and name the machine column if machines are mixed."
        : undefined,
    );
  }
}

/** Distances can be set against positions, so a wrong unit shows before any yield. */
function distanceIssues(log: YieldLog, {distancePerStep}: Track, say: Say): void {
  const units = LENGTH_FACTORS.find(({factor}) => Math.abs(distancePerStep / factor - 1) < DISTANCE_RECOGNISED);
  if (!units) return;
  say(
    "warning",
    "yield/distance-differs",
    `Distances of ${log.id} are ${formatNumber(distancePerStep, distancePerStep < 0.1 ? 4 : 2)} times the steps between its positions: they look like ${units.means}.`,
    "Give the distance column its right unit.",
  );
}

const DISTANCE_RECOGNISED = 0.04;
const LENGTH_FACTORS: readonly {readonly factor: number; readonly means: string}[] = [
  [1 / 0.3048, "feet", "metres"] as const,
  [12, "inches", "feet"] as const,
  [1 / 0.0254, "inches", "metres"] as const,
  [2.54, "centimetres", "inches"] as const,
  [100, "centimetres", "metres"] as const,
].flatMap(([factor, small, large]) => [
  {factor, means: `${small} read as ${large}`},
  {factor: 1 / factor, means: `${large} read as ${small}`},
]);

function missingIssues(log: YieldLog, track: Track, say: Say): void {
  if (track.missing <= THINNED) return;
  say(
    "warning",
    "yield/rows-missing",
    `About ${formatNumber(100 * track.missing)} % of the records of ${log.id} stand further from the one before than the distance they logged: rows were taken out.`,
    "Clean the raw log if you have it: delay and pass ends cannot be told well from what is left, and where passes overlap both are set aside, because their order is not known.",
  );
}

function delayIssues(log: YieldLog, {appliedS, estimate}: CleanedYield["delay"], track: Track, say: Say): void {
  if (!track.ordered) return;
  if (track.timeIs === "one second a record" && appliedS !== 0) {
    say(
      "note",
      "yield/no-time",
      `${log.id} gives no time; one record a second was assumed for the delay and the ends of passes.`,
    );
  }
  if (!estimate) return;
  if (estimate.refused) {
    say(
      "warning",
      "yield/delay-not-found",
      `The flow delay of ${log.id} could not be estimated (${estimate.refused}); none was applied.`,
      "Give the delay in seconds if the log was not shifted when it was exported; 10 to 15 s is common for corn and soybean.",
    );
  } else {
    const seconds = formatNumber(estimate.delayS ?? 0, 1);
    const found =
      appliedS === 0
        ? `${log.id} was shifted before it was exported: moving it by ${seconds} s would hardly bring neighbouring passes closer, so it is left as it is.`
        : `Flow delay of ${log.id}: ${seconds} s, from ${estimate.passPairs} pairs of neighbouring passes.`;
    say("note", "yield/delay-estimated", found);
  }
}

function swathIssues(log: YieldLog, swath: EffectiveSwath | undefined, say: Say): void {
  if (!swath) return;
  const pct = formatNumber(100 * swath.overlapping);
  const typical = formatNumber(100 * swath.typicalShare);
  if (!swath.trusted) {
    say(
      "warning",
      "yield/width-too-wide",
      `${pct} % of the records of ${log.id} overlap ground already cut (typically ${typical} % of the header in crop), so widths were not corrected.`,
      "Check the header width; yields are too low where it is set too wide.",
    );
  }
}

/** The mean in words a grower can check at a glance, and whether it can be a harvest at all. */
function levelIssue({id, crop, bushelPounds}: YieldLog, meanTPerHa: number, say: Say): void {
  const usual = Object.hasOwn(USUAL_MEAN_T_PER_HA, crop) ? USUAL_MEAN_T_PER_HA[crop] : undefined;
  if (!usual || !Number.isFinite(meanTPerHa) || (meanTPerHa >= usual[0] && meanTPerHa <= usual[1])) return;
  const bushels = (meanTPerHa * 1000) / KG_PER_HA_PER_LB_PER_ACRE / bushelPounds;
  say(
    "warning",
    "yield/unusual-mean",
    `${id} comes out at ${formatNumber(bushels, 1)} bu/ac (${formatNumber(meanTPerHa, 2)} t/ha) on average, which is no usual harvest of ${crop}.`,
    "Check the crop and the units of yield, flow, distance and swath.",
  );
}
