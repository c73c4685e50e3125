import {signal} from "@preact/signals";
import {formatNumber} from "../../src/units/format.ts";
import {api} from "../api/client.ts";
import type {ReceiptCard, ResultCard} from "../api/types.ts";
import {size} from "../files/files-panel.tsx";
import {NAMES} from "../map/scenes.ts";
import {session} from "../state/book.ts";
import {fresh, result} from "../state/field.ts";
import {More, type SettingOf} from "../stations/setting.tsx";

/** Id of the result whose caution was acknowledged. */
const acknowledged = signal<string | undefined>(undefined);

const MORE: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Formats of rate files",
    path: ["handOver", "formats"],
    choices: [
      {value: undefined, name: "GeoJSON and shapefile"},
      {value: ["geojson", "iso 11783-10"], name: "GeoJSON and ISO 11783-10"},
      {value: ["geojson", "geopackage"], name: "GeoJSON and GeoPackage"},
      {value: ["geojson", "shapefile", "geopackage", "iso 11783-10"], name: "all four"},
    ],
  },
  {
    kind: "choice",
    label: "Strategy that is spread",
    path: ["handOver", "strategy"],
    choices: [
      {value: undefined, name: "not said"},
      {value: "whole-field", name: "whole field"},
      {value: "grid", name: "grid"},
      {value: "zone", name: "zones"},
    ],
  },
  {
    kind: "check",
    label: "Folder for the applicator",
    path: ["handOver", "folder"],
    usual: false,
    hint: "Needs a strategy.",
  },
];

/** What leaves the office: files, each proved by reading it back, and the reports. */
export function HandOver() {
  const made = result.value;
  if (!made) return <p class="soft">There is nothing to hand over yet.</p>;
  return (
    <section class="rows-of" style="gap:14px" aria-label="Hand-over">
      <h2>Hand-over</h2>
      {!fresh.value && <p class="note">These files are of the job before the last change. Work it out first.</p>}
      <Reports made={made} />
      <label class="card" style="grid-template-columns:auto 1fr;align-items:start">
        <input
          type="checkbox"
          checked={acknowledged.value === made.id}
          onChange={({currentTarget}) => {
            acknowledged.value = currentTarget.checked ? made.id : undefined;
          }}
        />
        <span>
          <b style="font-weight:600">I have read this.</b> {session.value?.caution ?? CAUTION}
        </span>
      </label>
      <Files made={made} open={acknowledged.value === made.id} />
      <More of={MORE} />
    </section>
  );
}

const CAUTION =
  "Check rates against local nutrient rules and setbacks, have a licensed or certified adviser sign, and verify the controller's reading of the file before spreading.";

const REPORTS = [
  {kind: "field", name: "for the grower"},
  {kind: "record", name: "record for the agency"},
] as const;
const PAPERS = ["letter", "a4"] as const;

function Reports({made}: {readonly made: ResultCard}) {
  const link = (kind: "field" | "record", paper: "letter" | "a4") =>
    api.results[":id"].report.$path({param: {id: made.id}, query: {paper, kind}});
  return (
    <fieldset>
      <legend>Reports, to print</legend>
      {REPORTS.map(({kind, name}) => (
        <div class="row" key={kind}>
          <span style="min-width:150px">{name}</span>
          {PAPERS.map((paper) => (
            <a key={paper} href={link(kind, paper)} target="_blank" rel="noreferrer">
              {paper}
              <span class="unseen"> paper, {name}, in a new tab</span>
            </a>
          ))}
        </div>
      ))}
    </fieldset>
  );
}

function Files({made, open}: {readonly made: ResultCard; readonly open: boolean}) {
  const receipts = new Map<string, ReceiptCard[]>();
  for (const receipt of made.receipts) {
    const file = receipt.file ?? "";
    receipts.set(file, [...(receipts.get(file) ?? []), receipt]);
  }
  const rated = made.outputs.filter(({name}) => receipts.has(name));
  const others = made.outputs.filter(({name}) => !receipts.has(name));
  const link = (name: string) => api.results[":id"].files[":name{.+}"].$path({param: {id: made.id, name}});
  return (
    <>
      <fieldset>
        <legend>Rate files</legend>
        {rated.length === 0 && <p class="soft">There are no rates yet.</p>}
        <ul class="list">
          {rated.map(({name, bytes}) => (
            <li key={name}>
              <Download name={name} bytes={bytes} href={link(name)} open={open} />
              {(receipts.get(name) ?? []).map((receipt) => (
                <Receipt key={receipt.product} receipt={receipt} />
              ))}
            </li>
          ))}
        </ul>
      </fieldset>
      <details>
        <summary>Other files ({others.length})</summary>
        <ul class="list">
          {others.map(({name, bytes}) => (
            <li key={name}>
              <Download name={name} bytes={bytes} href={link(name)} open />
            </li>
          ))}
        </ul>
      </details>
    </>
  );
}

interface DownloadProps {
  readonly name: string;
  readonly bytes: number;
  readonly href: string;
  readonly open: boolean;
}

/** A link once the caution is read; before that only the name. */
function Download({name, bytes, href, open}: DownloadProps) {
  return (
    <span class="row">
      {open ? (
        <a href={href} download={name.split("/").at(-1)}>
          {name}
        </a>
      ) : (
        <span>
          {name}
          <span class="unseen"> (to be had once the caution above is read)</span>
        </span>
      )}
      <span class="small soft figures">{size(bytes)}</span>
    </span>
  );
}

function Receipt({receipt}: {readonly receipt: ReceiptCard}) {
  return (
    <details class="small">
      <summary>
        <span class={receipt.passed ? "tick" : "cross"}>{receipt.passed ? "✓ read back" : "✗ differs"}</span>{" "}
        {NAMES[receipt.strategy].toLowerCase()}, {receipt.product}: {formatNumber(receipt.totalLb)} lb on{" "}
        {formatNumber(receipt.acres, 1)} ac
      </summary>
      <table>
        <thead>
          <tr>
            <th scope="col">check</th>
            <th scope="col">planned</th>
            <th scope="col">in the file</th>
          </tr>
        </thead>
        <tbody>
          {receipt.checks.map(({what, planned, inFile, passed}) => (
            <tr key={what}>
              <th scope="row">
                <span class={passed ? "tick" : "cross"}>{passed ? "✓" : "✗"}</span> {what}
              </th>
              <td>{planned}</td>
              <td>{inFile}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
