import {formatNumber} from "../units/format.ts";
import type {Evidence, KeptBack, Overall} from "./judge/judgement.ts";
import type {NullComparison} from "./spatial-null.ts";
import type {Stability} from "./stability.ts";

// Limits of words. Own guide, no source: nobody has agreed on them.
const WORST_CHANCE = 0.1;
const WEAK = 0.05;
const USEFUL = 0.15;
const STRONG = 0.35;
const STABLE = 0.8;
const USABLE = 0.6;

/** The word for a share explained of values kept back: no stronger than share and chance both allow. */
export function evidenceOf(zones: number, explained: number, p: number): Evidence {
  if (zones < 2) return "unknown";
  if (p > WORST_CHANCE || explained < WEAK) return "none";
  if (explained < USEFUL) return "weak";
  return explained < STRONG ? "useful" : "strong";
}

/** The judgement in plain words, the most important first. */
export function verdictOn({
  zones,
  keptBack,
  overall,
  stability,
}: {
  zones: number;
  keptBack: readonly KeptBack[];
  overall: readonly Overall[];
  stability?: Stability;
}): string[] {
  if (zones < 2) return ["One zone is the whole field: there is nothing to judge."];
  return [
    headlineOf(overall),
    ...overall.flatMap((one) => [about(one, keptBack), ...contradictions(one, keptBack)]),
    ...adviceOn(overall, keptBack),
    ...(stability ? [aboutStability(stability)] : []),
  ];
}

function headlineOf(overall: readonly Overall[]): string {
  const [leading] = overall;
  if (!leading) {
    return "Whether these zones help cannot be told: nothing was kept back to judge them by. Add a second yield season, or soil tests at points.";
  }
  const helped = overall.find(({evidence}) => evidence !== "none");
  if (!helped || helped === leading) return HEADLINES[leading.evidence];
  return `The zones tell ${PLURALS[helped.kind]} apart, but there is no evidence that they tell ${PLURALS[leading.kind]} apart.`;
}

/** What to do when the leading kind shows nothing. */
function adviceOn(overall: readonly Overall[], keptBack: readonly KeptBack[]): string[] {
  const [leading] = overall;
  if (leading?.evidence !== "none") return [];
  const samples = keptBack.filter(({kind}) => kind === "samples");
  const most = Math.max(0, ...samples.map(({count}) => count));
  return [
    ...(samples.length > 0 && most < ENOUGH_SAMPLES
      ? [`${formatNumber(most)} samples show only large differences: more of them may show smaller ones.`]
      : []),
    overall.every(({evidence}) => evidence === "none")
      ? "Manage the field as one, or sample it by grid; better layers may make better zones."
      : "Take yield goals from these zones; sample the soil by grid, or within zones at more than one place.",
  ];
}

const HEADLINES: Record<Evidence, string> = {
  unknown: "Whether these zones help cannot be told.",
  none: "No evidence that zones help.",
  weak: "Weak evidence that zones help: they tell something, but most differences lie within zones.",
  useful: "The zones help.",
  strong: "The zones help, and plainly.",
};

function about({kind, explained, byChance}: Overall, keptBack: readonly KeptBack[]): string {
  const ofKind = keptBack.filter((one) => one.kind === kind);
  const what =
    ofKind.length <= MOST_NAMED
      ? list(ofKind)
      : `${formatNumber(ofKind.length)} ${kind === "season" ? "seasons" : PLURALS[kind]}`;
  const how = kind === "season" && ofKind.length > 1 ? " each by the zones that the other seasons make," : "";
  return `Of ${what}, kept back,${how} zones explain ${percent(explained)} of the variance; laid elsewhere on the field they explain ${percent(byChance.mean)} on average, and as much in ${times(byChance)}.`;
}

const PLURALS = {season: "yields", layer: "other layers", samples: "soil tests"} as const;
/** Fewer samples than this miss differences that matter more often than not; own limit, no source. */
const ENOUGH_SAMPLES = 30;
const MOST_NAMED = 4;

/** Single seasons or tests that go the other way than the whole of their kind. */
function contradictions({kind, evidence}: Overall, keptBack: readonly KeptBack[]): string[] {
  const ofKind = keptBack.filter((one) => one.kind === kind);
  const fails = ({explained, byChance}: KeptBack): boolean => byChance.p > WORST_CHANCE || explained < WEAK;
  const others = ofKind.filter((one) => fails(one) === (evidence !== "none"));
  if (others.length === 0 || others.length === ofKind.length) return [];
  const verb = others.length === 1 ? "is" : "are";
  return [`${list(others)} ${evidence === "none" ? `${verb} explained` : `${verb} not explained`} beyond chance.`];
}

function aboutStability({mean, low, agreement}: Stability): string {
  const inField = agreement.filter((share) => !Number.isNaN(share));
  const sure = inField.filter((share) => share >= STABLE).length / inField.length;
  const figures = `made again from other parts of the field they agree with this map by ${mean.toFixed(2)} (adjusted Rand index; ${low.toFixed(2)} in poor draws), and ${percent(sure)} of the field is in its own zone four times in five`;
  if (mean >= STABLE) return `The zones are stable: ${figures}.`;
  if (mean >= USABLE) return `The zones are fairly stable: ${figures}.`;
  return `The zones are not stable: ${figures}. Fewer zones, or layers that agree better, may be.`;
}

function list(found: readonly KeptBack[]): string {
  const names = found.map(({label}) => label);
  return names.length < 2 ? (names[0] ?? "") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
}

const percent = (share: number): string => `${formatNumber(100 * share, Math.abs(share) < 0.1 ? 1 : 0)} %`;

const times = ({p, draws}: NullComparison): string => {
  const asMuch = Math.round(p * (draws + 1)) - 1;
  return `${asMuch === 0 ? "none" : formatNumber(asMuch)} of ${formatNumber(draws)} tries (p = ${p.toFixed(3)})`;
};
