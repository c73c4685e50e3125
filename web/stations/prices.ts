import {formatShort} from "../../src/units/format.ts";
import {judgedOf} from "../ledger/judged.ts";
import {page, result} from "../state/field.ts";
import {type JobText, type Path, read, write} from "./job-path.ts";
import type {SettingOf} from "./setting.tsx";

type Used = NonNullable<ReturnType<typeof judgedOf>>["evidence"]["money"];
type UsedPrice = keyof Used["prices"];

const NAMES: Readonly<Record<string, UsedPrice>> = {
  lab: "labPerSample",
  core: "perCore",
  zoneMaking: "zoneMakingPerAcre",
  labour: "labourPerHour",
  broadcast: "broadcastPerAcre",
  variableRate: "variableRatePerAcre",
};

/** A price of the job; while the job has none, what is counted with instead and where that is from. */
export function price(label: string, key: keyof typeof NAMES & string): SettingOf {
  const path = ["prices", key];
  const used = moneyUsed()?.prices[NAMES[key] as UsedPrice];
  const own = read(page.value?.job, path) !== undefined;
  if (!used || own) return {kind: "text", label, path, along: withYear};
  const {value, unit, year, basis, source} = used;
  const from = `Used now: ${year === undefined ? basis : `${basis} ${year}`}, ${source}.`;
  const hint = basis === "user" ? "Counted as nothing: other prices are yours, this one is left out." : from;
  return {kind: "text", label, path, along: withYear, usual: `${dollars(value)} ${unit.replace("/h", "/hour")}`, hint};
}

/** Crops have no price but the user's: those of the job, or while it names none the two most planned. */
export function cropPrices(): SettingOf[] {
  const named = (read(page.value?.job, ["rates", "crops"]) as readonly {readonly crop?: unknown}[] | undefined) ?? [];
  const priced = Object.keys((read(page.value?.job, ["prices", "crops"]) as object | undefined) ?? {});
  const crops = [...new Set([...named.map(({crop}) => crop), ...priced])].filter((crop) => typeof crop === "string");
  return (crops.length > 0 ? crops : ["corn", "soybean"]).map((crop, i) => ({
    kind: "text",
    label: `${crop.charAt(0).toUpperCase()}${crop.slice(1)}`,
    path: ["prices", "crops", crop],
    along: withYear,
    hint: i === 0 ? 'As in "4.20 $/bu". Without it nothing is said of what finer sampling pays.' : undefined,
  }));
}

export function yearsServed(): SettingOf {
  const used = moneyUsed();
  return {
    kind: "number",
    label: "Years it serves",
    path: ["prices", "yearsServed"],
    along: withYear,
    usual: used && formatShort(used.samplingYears, 1),
    hint: "Until the field is sampled again.",
  };
}

const moneyUsed = (): Used | undefined => (result.value ? judgedOf(result.value)?.evidence.money : undefined);

/** "4.90", "10". */
const dollars = (value: number): string => (Number.isInteger(value) ? String(value) : value.toFixed(2));

const YEAR: Path = ["prices", "year"];

/** Prices need their year: this one, where the job does not say. */
function withYear(job: JobText): JobText {
  const needed = read(job, ["prices"]) !== undefined && read(job, YEAR) === undefined;
  return needed ? write(job, YEAR, new Date().getFullYear()) : job;
}
