import {formatNumber} from "../../src/units/format.ts";
import {CountOfZones} from "../charts/count-chart.tsx";
import {HandsOnZones} from "../hands/zones/hands-on-zones.tsx";
import {many} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {More, type SettingOf, Settings} from "./setting.tsx";

const MAIN: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "How many zones",
    path: ["zones", "count"],
    usual: 4,
    choices: [
      {value: "choose", name: "choose for me"},
      ...[1, 2, 3, 4, 5, 6, 7, 8].map((count) => ({value: count, name: String(count)})),
    ],
    hint: "Choosing looks for the number that explains layers kept back and is worth its sampling.",
  },
  {
    kind: "text",
    label: "Smallest piece",
    path: ["zones", "minArea"],
    usual: "2 ac",
    hint: "On a small field a twentieth of it.",
  },
];

const WEIGHTS: readonly SettingOf[] = ["yield", "soil", "terrain", "sensed"].map((theme) => ({
  kind: "number",
  label: {yield: "Yield", soil: "Soil map", terrain: "Terrain", sensed: "Sensed"}[theme] as string,
  path: ["zones", "weights", theme],
  usual: "1",
}));

const MORE: readonly SettingOf[] = [
  {
    kind: "text",
    label: "Least width",
    path: ["zones", "minWidth"],
    usual: "none",
    hint: "What the machine can follow.",
  },
  {kind: "text", label: "Smoothing", path: ["zones", "smoothing"], usual: "15 m"},
  {
    kind: "choice",
    label: "Method",
    path: ["zones", "method"],
    choices: [
      {value: undefined, name: "k-means"},
      {value: "fuzzy c-means", name: "fuzzy c-means"},
    ],
  },
  {
    kind: "choice",
    label: "Scaling",
    path: ["zones", "scale"],
    choices: [
      {value: undefined, name: "clipped"},
      {value: "robust", name: "robust"},
    ],
    hint: "Robust is for layers with long tails.",
  },
  {kind: "number", label: "Most zones tried", path: ["zones", "mostToTry"], usual: "8"},
  {
    kind: "number",
    label: "Calm",
    path: ["zones", "calm"],
    usual: "0",
    hint: "Share of what zones explain that merging a piece may cost.",
  },
  {kind: "check", label: "Leave out noise layers", path: ["zones", "dropNoise"], usual: true},
  {
    kind: "check",
    label: "Judge the zones",
    path: ["zones", "judge"],
    usual: false,
    hint: "By seasons and soil tests kept back.",
  },
];

export function ZonesStation() {
  const made = result.value;
  const {judgement, varianceExplained} = made ?? {};
  return (
    <>
      <Settings of={MAIN} />
      <CountOfZones />
      <HandsOnZones />
      <fieldset>
        <legend>Weight of each theme</legend>
        <Settings of={WEIGHTS} />
      </fieldset>
      <More of={MORE} sections={["zones"]} />
      {made?.zones && (
        <p class="small soft">
          {many(made.zones.length, "zone")}
          {varianceExplained &&
            ` explain ${formatNumber(100 * varianceExplained.tidied)} % of the layers they are made from`}
          .
        </p>
      )}
      {judgement?.verdict.map((sentence) => (
        <p class="note" key={sentence}>
          {sentence}
        </p>
      ))}
    </>
  );
}
