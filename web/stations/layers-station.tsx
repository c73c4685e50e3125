import {page, result} from "../state/field.ts";
import {layerId, show} from "../state/view.ts";
import {read} from "./job-path.ts";
import {More, type SettingOf, Settings} from "./setting.tsx";

const MAIN: readonly SettingOf[] = [
  {kind: "text", label: "Cell of the layers", path: ["layers", "cellSize"], usual: "5 m"},
];

const MORE: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Seasons made alike by",
    path: ["layers", "seasons", "scale"],
    choices: [
      {value: undefined, name: "percent of mean"},
      {value: "z-score", name: "z-score"},
    ],
  },
  {kind: "check", label: "Zones from spread too", path: ["layers", "seasons", "spread"], usual: false},
  {kind: "check", label: "Zones from stability too", path: ["layers", "seasons", "stability"], usual: false},
];

const ELEVATION: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Heights are in",
    path: ["layers", "elevation", "unit"],
    choices: [
      {value: undefined, name: "as the file says"},
      {value: "m", name: "metres"},
      {value: "ft", name: "feet"},
      {value: "us-ft", name: "US survey feet"},
    ],
  },
  {kind: "text", label: "Smoothing", path: ["layers", "elevation", "smooth"], usual: "5 m"},
];

/** What was read, gridded and can be looked at; how each harvest was cleaned. */
export function LayersStation() {
  const logs =
    (read(page.value?.job, ["layers", "yield"]) as readonly {file: string; crop?: unknown; season?: unknown}[]) ?? [];
  const layers = result.value?.layers ?? [];
  return (
    <>
      {layers.length > 0 && (
        <fieldset>
          <legend>Look at</legend>
          <div class="rows-of" style="gap:2px">
            {layers.map(({id, label, used}) => (
              <div key={id}>
                <button
                  type="button"
                  class="plain"
                  aria-pressed={layerId.value === id}
                  onClick={() => {
                    layerId.value = id;
                    show.value = "layer";
                  }}
                >
                  {label}
                </button>
                <span class="small soft">{used ? "makes zones" : "to look at"}</span>
              </div>
            ))}
          </div>
        </fieldset>
      )}
      <Settings of={MAIN} />
      {logs.map(({file, crop, season}, i) => (
        <fieldset key={file}>
          <legend>
            {String(typeof season === "object" ? "seasons in column" : (season ?? ""))}{" "}
            {typeof crop === "string" ? crop : ""}
          </legend>
          <p class="small soft">{file}</p>
          <Settings
            of={[
              {
                kind: "text",
                label: "Flow delay",
                path: ["layers", "yield", i, "delay"],
                usual: "none",
                hint: 'As "12 s", or estimate.',
              },
              {kind: "text", label: "Header width", path: ["layers", "yield", i, "headerWidth"], usual: "from the log"},
            ]}
          />
        </fieldset>
      ))}
      {read(page.value?.job, ["layers", "elevation"]) !== undefined && (
        <fieldset>
          <legend>Elevation</legend>
          <Settings of={ELEVATION} />
        </fieldset>
      )}
      <More of={MORE} sections={["layers"]} />
      {logs.length === 0 && layers.length === 0 && (
        <p class="note">Drop yield logs, a soil map or elevation anywhere on this page.</p>
      )}
    </>
  );
}
