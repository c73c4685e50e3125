import {NAMES} from "../map/scenes.ts";
import {page, result} from "../state/field.ts";
import {read} from "./job-path.ts";
import {cropPrices, price, yearsServed} from "./prices.ts";
import {More, type SettingOf, Settings} from "./setting.tsx";

/** A plan without rates is nothing to compare with: then another one is. */
function baseline(): SettingOf {
  const usual = "whole-field";
  const wanted = (read(page.value?.job, ["baseline"]) ?? usual) as keyof typeof NAMES;
  const used = result.value?.comparison.baseline;
  return {
    kind: "choice",
    label: "Baseline",
    path: ["baseline"],
    usual,
    choices: [
      {value: usual, name: "whole field"},
      {value: "grid", name: "grid"},
      {value: "zone", name: "zones"},
    ],
    hint:
      used && used !== wanted
        ? `Compared with ${NAMES[used].toLowerCase()}: ${NAMES[wanted].toLowerCase()} has no rates.`
        : undefined,
  };
}

const LEVELS: readonly SettingOf[] = [
  {kind: "number", label: "Level of the intervals", path: ["compare", "level"], usual: "0.9"},
  {kind: "number", label: "Sampling days drawn", path: ["compare", "draws"], usual: "400"},
  {kind: "text", label: "Another rate means", path: ["compare", "tolerance"], usual: "30 lb/ac"},
];

/** What the strategies are measured against and what things cost. */
export function LedgerStation() {
  const year: SettingOf = {
    kind: "number",
    label: "Year of the prices",
    path: ["prices", "year"],
    hint: "Written with the first price.",
  };
  return (
    <>
      <Settings of={[baseline()]} />
      <fieldset>
        <legend>Prices</legend>
        <Settings
          of={[
            year,
            price("Lab", "lab"),
            price("Core", "core"),
            price("Zone making", "zoneMaking"),
            yearsServed(),
            ...cropPrices(),
          ]}
        />
      </fieldset>
      <More
        of={[
          price("Labour", "labour"),
          price("Broadcasting", "broadcast"),
          price("Several rates, extra", "variableRate"),
          ...LEVELS,
        ]}
        sections={["prices", "compare", "handOver", "asApplied"]}
      />
    </>
  );
}
