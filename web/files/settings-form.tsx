import type {Signal} from "@preact/signals";
import {type Path, read, write} from "../stations/job-path.ts";
import type {Settings} from "./answers.ts";

interface Props {
  /** Tells the settings of one file from those of another. */
  readonly name: string;
  readonly settings: Signal<Settings>;
  readonly headings: readonly string[];
}

/** Every proposed setting of a file, to be confirmed or changed: columns are chosen among the headings. */
export function SettingsForm({name, settings, headings}: Props) {
  const leaves = leavesOf(settings.value, []);
  if (leaves.length === 0) return <p class="small soft">Nothing to set.</p>;
  return (
    <div class="settings">
      {leaves.map((path) => {
        const value = read(settings.value, path);
        const id = `how-${name}-${path.join("-")}`;
        const put = (next: unknown) => {
          settings.value = write(settings.value, path, next);
        };
        return (
          <div class="setting" key={path.join("/")}>
            <label for={id}>{nameOf(path, settings.value)}</label>
            {typeof value === "boolean" ? (
              <span>
                <input
                  id={id}
                  type="checkbox"
                  checked={value}
                  onChange={({currentTarget}) => put(currentTarget.checked)}
                />
              </span>
            ) : headings.includes(String(value)) ? (
              <select id={id} value={String(value)} onChange={({currentTarget}) => put(currentTarget.value)}>
                {headings.map((heading) => (
                  <option key={heading}>{heading}</option>
                ))}
              </select>
            ) : (
              <input
                id={id}
                type="text"
                value={String(value)}
                onChange={({currentTarget}) =>
                  put(typeof value === "number" ? Number(currentTarget.value) : currentTarget.value)
                }
              />
            )}
          </div>
        );
      })}
    </div>
  );
}

function leavesOf(value: unknown, path: Path): Path[] {
  if (typeof value !== "object" || value === null) return [path];
  if (Array.isArray(value)) return value.flatMap((item, i) => leavesOf(item, [...path, i]));
  return Object.entries(value).flatMap(([key, inside]) => leavesOf(inside, [...path, key]));
}

const WORDS: Readonly<Record<string, string>> = {
  x: "longitude or easting",
  y: "latitude or northing",
  sampleId: "sample id",
  crs: "coordinate system",
  season: "year",
};

/** "P, unit" for the unit of the analyte P; "flow" for the column that holds flow. */
function nameOf(path: Path, settings: Settings): string {
  const last = String(path.at(-1));
  const analyte = read(settings, [...path.slice(0, -1), "analyte"]) ?? read(settings, [...path.slice(0, -1), "label"]);
  const owner = analyte ?? (typeof path.at(-2) === "string" && path.at(-2) !== "columns" ? path.at(-2) : undefined);
  const word = WORDS[last] ?? last;
  return owner !== undefined && last !== "analyte" ? `${owner}, ${word}` : word;
}
