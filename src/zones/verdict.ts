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
  const [leading] = overall;
  return [
    leading
      ? HEADLINES[leading.evidence]
      : "Whether these zones help cannot be told: nothing was kept back to judge them by. Add a second yield season, or soil tests at points.",
    ...overall.flatMap((one) => [about(one, keptBack), ...contradictions(one, keptBack)]),
    ...(leading?.evidence === "none"
      ? ["Manage the field as one, or sample it by grid; better layers may make better zones."]
      : []),
    ...(stability ? [aboutStability(stability)] : []),
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
  const what = ofKind.length <= MOST_NAMED ? list(ofKind) : `${formatNumber(ofKind.length)} ${PLURALS[kind]}`;
  const how = kind === "season" && ofKind.length > 1 ? ", each by the zones that the other seasons make," : "";
  return `Of ${what}, kept back${how} zones explain ${percent(explained)} of the variance; laid elsewhere on the field they explain ${percent(byChance.mean)} on average, and as much in ${times(byChance)}.`;
}

const PLURALS = {season: "seasons", layer: "layers", samples: "soil tests"} as const;
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
