import {page, result} from "../state/field.ts";
import {besideIt} from "../units/shown.ts";
import {read} from "./job-path.ts";
import {More, type SettingOf} from "./setting.tsx";

const MORE: readonly SettingOf[] = [
  {
    kind: "text",
    label: "Day of sampling",
    path: ["lab", "date"],
    usual: "not said",
    hint: "As in 2026-04-12; needed for history.",
  },
  {
    kind: "check",
    label: "Convert to ppm",
    path: ["lab", "toPpm"],
    usual: false,
    hint: "lb/ac and meq/100 g, with a remark each.",
  },
  {
    kind: "choice",
    label: "CEC",
    path: ["lab", "cec"],
    choices: [
      {value: undefined, name: "as reported"},
      {value: "sum of cations", name: "sum of cations"},
    ],
  },
];

/** Which reports count and how their samples were matched. */
export function LabStation() {
  const files = (read(page.value?.job, ["lab", "files"]) as readonly {file: string}[] | undefined) ?? [];
  if (files.length === 0) {
    return <p class="note">Take the cores, send the bags, then drop the lab's report anywhere on this page.</p>;
  }
  return (
    <>
      <fieldset>
        <legend>Reports</legend>
        <ul class="list">
          {files.map(({file}) => (
            <li key={file}>{file}</li>
          ))}
        </ul>
      </fieldset>
      {(result.value?.labSentences ?? []).map((sentence) => (
        <p class="small soft" key={sentence}>
          {besideIt(sentence)}
        </p>
      ))}
      <More of={MORE} sections={["lab"]} />
    </>
  );
}
