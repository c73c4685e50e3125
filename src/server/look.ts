import type {FileSet} from "../formats/file-set.ts";
import {inspectFile} from "../pipeline/inspect-file.ts";
import {readRows} from "../pipeline/read-inputs.ts";
import type {AttachAs, SourceCard, SourceQuestion} from "./api-types.ts";
import {lookAtTable} from "./look-table.ts";

type Look = Pick<SourceCard, "columns" | "questions" | "looksLike" | "proposed">;

/**
 * What a file holds and what it could be to a field.
 *
 * @param files - The file by its name, and what is lent to look into it.
 * @throws {FieldError} when it cannot be read at all.
 */
export async function lookAt(files: FileSet, name: string, id: string): Promise<SourceCard> {
  const {kind, lines, facts, issues} = await inspectFile(files, name);
  const bytes = files.get(name)?.length ?? 0;
  return {id, name, bytes, kind, lines, issues, ...lookAtKind(kind, files, name, facts)};
}

function lookAtKind(kind: string, files: FileSet, name: string, facts: Readonly<Record<string, unknown>>): Look {
  switch (kind) {
    case "csv":
      return lookAtTable(readRows(files, name, []), name);
    case "geotiff":
      return lookAtRaster(name, facts);
    case "shapes":
      return lookAtShapes(facts);
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

const MOST_OF_A_BOUNDARY = 3;
/** Words for the name of a soil map unit: the survey's own key among them. */
const SOIL_HEADING = /^(musym|mukey|muname|map_?unit|unit|soil|series|symbol)$/i;
