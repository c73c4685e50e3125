import {More, type SettingOf, Settings} from "./setting.tsx";

const MAIN: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Baseline",
    path: ["baseline"],
    usual: "whole-field",
    choices: [
      {value: "whole-field", name: "whole field"},
      {value: "grid", name: "grid"},
      {value: "zone", name: "zones"},
    ],
  },
];

const PRICES: readonly SettingOf[] = [
  {kind: "number", label: "Year of the prices", path: ["prices", "year"]},
  {kind: "text", label: "Lab", path: ["prices", "lab"], usual: "12 $/sample"},
  {kind: "text", label: "Core", path: ["prices", "core"], usual: "0.40 $/core"},
  {kind: "text", label: "Zone making", path: ["prices", "zoneMaking"], usual: "1 $/ac"},
  {kind: "number", label: "Years it serves", path: ["prices", "yearsServed"], usual: "4"},
  {kind: "text", label: "Corn", path: ["prices", "crops", "corn"], usual: "4.20 $/bu"},
  {kind: "text", label: "Soybean", path: ["prices", "crops", "soybean"], usual: "10.50 $/bu"},
];

const MORE: readonly SettingOf[] = [
  {kind: "text", label: "Labour", path: ["prices", "labour"], usual: "30 $/hour"},
  {kind: "text", label: "Broadcasting", path: ["prices", "broadcast"], usual: "8 $/ac"},
  {kind: "text", label: "Several rates, extra", path: ["prices", "variableRate"], usual: "2 $/ac"},
  {kind: "number", label: "Level of the intervals", path: ["compare", "level"], usual: "0.9"},
  {kind: "number", label: "Sampling days drawn", path: ["compare", "draws"], usual: "400"},
  {kind: "text", label: "Another rate means", path: ["compare", "tolerance"], usual: "30 lb/ac"},
];

/** What the strategies are measured against and what things cost. */
export function LedgerStation() {
  return (
    <>
      <Settings of={MAIN} />
      <fieldset>
        <legend>Prices</legend>
        <Settings of={PRICES} />
      </fieldset>
      <More of={MORE} sections={["prices", "compare", "handOver", "asApplied"]} />
    </>
  );
}
