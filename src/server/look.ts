import type {FileSet} from "../formats/file-set.ts";
import type {Feature} from "../geo/features.ts";
import {inspectFile} from "../pipeline/inspect-file.ts";
import {remarkLines} from "../pipeline/inspect-shapes.ts";
import {readRows, readVector} from "../pipeline/read-inputs.ts";
import type {AttachAs, SourceCard, SourceQuestion} from "./api-types.ts";
import {lookAtTable} from "./look-table.ts";

type Look = Pick<
  SourceCard,
  "columns" | "questions" | "ids" | "positions" | "box" | "named" | "looksLike" | "proposed"
>;

/**
 * What a file holds and what it could be to a field.
 *
 * @param files - The file by its name, and what is lent to look into it.
 * @throws {FieldError} when it cannot be read at all.
 */
export async function lookAt(files: FileSet, name: string, id: string): Promise<SourceCard> {
  const {kind, lines, facts, issues} = await inspectFile(files, name);
  const bytes = files.get(name)?.length ?? 0;
  // Remarks stand beside the sentences, not among them as on a terminal.
  const remarks = new Set(remarkLines(issues));
  const sentences = lines.filter((line) => !remarks.has(line));
  return {id, name, bytes, kind, lines: sentences, issues, ...(await lookAtKind(kind, files, name, facts))};
}

async function lookAtKind(
  kind: string,
  files: FileSet,
  name: string,
  facts: Readonly<Record<string, unknown>>,
): Promise<Look> {
  switch (kind) {
    case "csv":
      return lookAtTable(readRows(files, name, []), name);
    case "geotiff":
      return lookAtRaster(name, facts);
    case "shapes":
      return {...lookAtShapes(facts), ...lookAtFeatures((await readVector(files, {file: name}, [])).features)};
    default:
      return {looksLike: [], proposed: {}};
  }
}

function lookAtRaster(name: string, {unit}: Readonly<Record<string, unknown>>): Look {
  const heights = /elev|dem|dtm|lidar|height|terrain/i.test(name);
  const known = typeof unit === "string";
  const question: SourceQuestion = {
    about: "unit",
    message: "The file does not say whether heights are metres or feet.",
    choices: ["m", "ft", "us-ft"],
  };
  const label = name.replace(/\.[^.]*$/, "").replaceAll(/[-_]+/g, " ");
  return {
    ...(heights && !known && {questions: [question]}),
    looksLike: heights ? ["elevation", "raster"] : ["raster", "elevation"],
    proposed: {elevation: known ? {unit} : {}, raster: {label, ...(known && {unit})}},
  };
}

/** A few polygons are a boundary, many of them a soil map or zones; the rest is for a person to say. */
function lookAtShapes({counts = {}, columns = []}: {readonly counts?: unknown; readonly columns?: unknown}): Look {
  const types = Object.keys(counts as object);
  const number = Object.values(counts as Record<string, number>).reduce((sum, count) => sum + count, 0);
  const headings = columns as string[];
  const attributes = headings.map((heading) => ({heading, sample: [], readAs: ""}));
  if (!types.every((type) => /Polygon$/.test(type))) {
    const points = types.every((type) => type === "Point");
    return {
      columns: attributes,
      questions: [HOW_FAR],
      looksLike: points && headings.length > 0 ? ["keep-out", "setback", "points"] : ["keep-out", "setback"],
      proposed: {},
    };
  }
  const looksLike: AttachAs[] =
    number <= MOST_OF_A_BOUNDARY
      ? ["boundary", "soil map", "keep-out", "setback", "zones"]
      : ["soil map", "zones", "keep-out", "setback"];
  const named = headings.find((heading) => SOIL_HEADING.test(heading)) ?? headings[0];
  return {
    columns: attributes,
    looksLike,
    proposed: {boundary: {}, zones: {}, ...(named !== undefined && {"soil map": {class: named}})},
  };
}

const HOW_FAR: SourceQuestion = {
  about: "distance",
  message: 'How far do cores keep from it, as in "50 ft"?',
  choices: [],
};

/** Where shapes lie, and of a few what they call their field and farm. */
function lookAtFeatures(features: readonly Feature[]): Pick<Look, "box" | "named"> {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  const take = (coordinates: unknown): void => {
    if (!Array.isArray(coordinates)) return;
    const [lon, lat] = coordinates;
    if (typeof lon !== "number") {
      for (const one of coordinates) take(one);
      return;
    }
    [west, south] = [Math.min(west, lon), Math.min(south, lat)];
    [east, north] = [Math.max(east, lon), Math.max(north, lat)];
  };
  for (const {geometry} of features) take("coordinates" in geometry ? geometry.coordinates : []);
  const said = (heading: RegExp): string | undefined => {
    const words = features.map(({properties}) => {
      const key = Object.keys(properties).find((one) => heading.test(one));
      return key === undefined ? "" : String(properties[key] ?? "").trim();
    });
    return words.length <= MOST_OF_A_BOUNDARY && new Set(words).size === 1 ? words[0] : undefined;
  };
  const [field, farm] = [said(FIELD_HEADING), said(FARM_HEADING)];
  return {
    ...(west <= east && {box: [west, south, east, north]}),
    ...((field || farm) && {named: {...(field && {field}), ...(farm && {farm})}}),
  };
}

const FIELD_HEADING = /^(field|field[ _-]?name|name)$/i;
const FARM_HEADING = /^(farm|farm[ _-]?name)$/i;
const MOST_OF_A_BOUNDARY = 3;
/** Words for the name of a soil map unit: the survey's own key among them. */
const SOIL_HEADING = /^(musym|mukey|muname|map_?unit|unit|soil|series|symbol)$/i;
