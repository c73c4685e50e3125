import {api} from "../api/client.ts";
import type {ResultCard, Strategy} from "../api/types.ts";
import {many, NAMES} from "../map/scenes.ts";
import {session} from "../state/book.ts";
import {fresh, page, result} from "../state/field.ts";
import {read} from "../stations/job-path.ts";
import {More, type SettingOf, Settings} from "../stations/setting.tsx";
import {FileLink, sizeOfZip} from "./file-link.tsx";
import {FileList} from "./file-list.tsx";
import {type FileOut, filesOut, ratesKey} from "./for-whom.ts";
import {HandedOver} from "./handed-over.tsx";
import "./print-maps.ts";
import {Reports} from "./report-preview.tsx";
import {SamplingPapers} from "./sampling-papers.tsx";
import {cautionRead, readCaution, take} from "./taken.ts";

const SPREAD: readonly SettingOf[] = [
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
    kind: "check",
    label: "Folder for the applicator",
    path: ["handOver", "folder"],
    usual: false,
    hint: "Rates of that strategy, a sheet for the cab and checksums, as they go on the stick.",
  },
];

const MORE: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Paper of the sheet for the cab",
    path: ["handOver", "paper"],
    choices: [
      {value: undefined, name: "letter"},
      {value: "a4", name: "A4"},
    ],
  },
];

const UNREAD = "to be had once the caution above is read";
const OLD = "These are of the job before the last change: work it out first.";

/** What leaves the office: reports, files each proved by reading it back, and what has been handed over. */
export function HandOver() {
  const made = result.value;
  if (!made) return <p class="soft">There is nothing to hand over yet.</p>;
  const spread = read(page.value?.job, ["handOver", "strategy"]) as Strategy | undefined;
  const files = filesOut(made.outputs, made.receipts, spread);
  const taking = ratesKey(files);
  const old = fresh.value ? undefined : OLD;
  const rates = files.some(({whom}) => whom === "spreader");
  const closed = old ?? (rates && !cautionRead(taking) ? UNREAD : undefined);
  const of = (whom: FileOut["whom"]) => files.filter((file) => file.whom === whom);
  const {plan, "hand-over": station} = page.value?.card.stations ?? {};
  const papers = <SamplingPapers made={made} closed={plan?.state === "done" ? undefined : old} />;
  return (
    <section class="rows-of hand-over" style="gap:14px" aria-label="Hand-over">
      <div>
        <h2>Hand-over</h2>
        <p class="small soft">{station?.line}</p>
      </div>
      {old && <p class="note">Files and reports here are of the job before the last change: work it out first.</p>}
      {!rates && papers}
      <Reports made={made} />
      {rates && (
        <label class="card caution">
          <input
            type="checkbox"
            checked={cautionRead(taking)}
            onChange={({currentTarget}) => readCaution(taking, currentTarget.checked)}
          />
          <span>
            <b style="font-weight:600">I have read this.</b> {session.value?.caution ?? CAUTION}
          </span>
        </label>
      )}
      <ForSpreader made={made} files={of("spreader")} spread={spread} closed={closed} taking={taking} />
      <Whole made={made} files={files} closed={closed} taking={taking} />
      <HandedOver made={made} files={files} taking={taking} />
      {rates && papers}
      <Others title="For the agency, beside the record" files={of("agency")} made={made} closed={old} taking={taking} />
      <Others title="For the office" files={of("office")} made={made} closed={old} taking={taking} />
    </section>
  );
}

const CAUTION =
  "Check rates against local nutrient rules and setbacks, have a licensed or certified adviser sign, and verify the controller's reading of the file before spreading.";

interface Props {
  readonly made: ResultCard;
  readonly files: readonly FileOut[];
  /** Why they may not be taken; absent: they may. */
  readonly closed: string | undefined;
  readonly taking: string;
}

/** A machine must be given one map of a field: that of the strategy that is spread. */
function ForSpreader({made, files, spread, closed, taking}: Props & {readonly spread: Strategy | undefined}) {
  const strategies = [...new Set(files.flatMap(({strategy}) => strategy ?? []))];
  const folder = files.filter(({inFolder}) => inFolder);
  const first = spread && strategies.includes(spread) ? [spread] : strategies;
  const rest = strategies.filter((strategy) => !first.includes(strategy));
  const list = (strategy: Strategy) => (
    <div key={strategy} class="rows-of">
      <h3>{NAMES[strategy]}</h3>
      <FileList
        files={files.filter((file) => file.strategy === strategy && !file.inFolder)}
        id={made.id}
        closed={closed}
        taking={taking}
      />
    </div>
  );
  return (
    <fieldset>
      <legend>For the spreader: rate files</legend>
      <Settings of={SPREAD} />
      <More of={MORE} sections={["handOver"]} />
      {closed === OLD && files.length > 0 && <p class="note">{OLD}</p>}
      {files.length === 0 && <p class="soft">There are no rates yet.</p>}
      {first.length > 1 && (
        <p class="note">
          {many(first.length, "strategy").replace("strategys", "strategies")} have rates. The machine must be given one
          of them: say above which is spread.
        </p>
      )}
      {folder.length > 0 && (
        <div class="rows-of">
          <h3>The applicator's folder</h3>
          <Zip made={made} of="folder" files={folder} closed={closed} taking={taking} name="The folder as one zip" />
          <FileList files={folder} id={made.id} closed={closed} taking={taking} />
        </div>
      )}
      {first.map(list)}
      {rest.length > 0 && (
        <details>
          <summary>Rates of the other strategies, to compare</summary>
          {rest.map(list)}
        </details>
      )}
    </fieldset>
  );
}

function Whole({made, files, closed, taking}: Props) {
  return (
    <fieldset>
      <legend>Everything</legend>
      <Zip made={made} of="all" files={files} closed={closed} taking={taking} name="All files as one zip" />
    </fieldset>
  );
}

/** A zip that holds rates waits for the caution as they do. */
function Zip({made, of, files, closed, taking, name}: Props & {readonly of: "all" | "folder"; readonly name: string}) {
  return (
    <FileLink
      href={api.results[":id"]["files.zip"].$path({param: {id: made.id}, query: {of}})}
      download
      closed={closed !== undefined}
      why={closed}
      onTake={() =>
        take(
          taking,
          files.map((file) => file.name),
        )
      }
      about={sizeOfZip(files)}
    >
      {name}
    </FileLink>
  );
}

function Others({title, files, made, closed, taking}: Props & {readonly title: string}) {
  if (files.length === 0) return null;
  return (
    <details>
      <summary>
        {title} ({files.length})
      </summary>
      <FileList files={files} id={made.id} closed={closed} taking={taking} />
    </details>
  );
}
