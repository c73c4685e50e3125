import type {Feature, Geometry, MultiLineString, MultiPoint, MultiPolygon} from "geojson";
import {api, got, problemOf} from "../../api/client.ts";
import type {ApiProblem, GroundKind} from "../../api/types.ts";
import {page} from "../../state/field.ts";
import {attachShape, edgeOfField, fileFor} from "./draft.ts";
import {drawingProblem} from "./drawing-problem.ts";
import {type Entry, entriesIn, nameOf, settingsOf} from "./grounds.ts";
import {drawOnMap} from "./on-map.ts";

type Shape = MultiPolygon | MultiLineString | MultiPoint;

/**
 * Lets the corners of a keep-out or setback be moved, added and taken out, as it was drawn; its name and distance stay.
 * Resolves to why it cannot be changed so, if it cannot.
 */
export async function changeGround(kind: GroundKind, at: number): Promise<ApiProblem | undefined> {
  const {card, job} = page.peek() ?? {};
  const entry = entriesIn(job, kind)[at];
  if (!card || !entry) return undefined;
  drawingProblem.value = undefined;
  try {
    const query = {kind, entry: String(at)};
    const {features} = await got(api.fields[":id"].drawn.$get({param: {id: card.id}, query}));
    const shape = inOne(features);
    if (shape) change(kind, at, entry, shape);
    return shape ? undefined : ofSeveralKinds(entry);
  } catch (error) {
    return problemOf(error);
  }
}

function change(kind: GroundKind, at: number, entry: Entry, shape: Shape): void {
  const options = {
    says: `${nameOf(entry)}, as it was drawn.`,
    done: "Keep it",
    snapTo: edgeOfField(),
    finish: (changed: Shape) => void keep(kind, at, entry, changed),
    cancel: () => {
      drawingProblem.value = undefined;
    },
  };
  if (shape.type === "MultiPolygon") void drawOnMap("edit", {...options, geometry: shape});
  else if (shape.type === "MultiLineString") void drawOnMap("lines", {...options, geometry: shape});
  else void drawOnMap("points", {...options, geometry: shape});
}

/** A new file in the place of the old one, which stays among the field's files. */
async function keep(kind: GroundKind, at: number, entry: Entry, shape: Shape): Promise<void> {
  const settings = settingsOf(entry);
  const problem = await attachShape(fileFor(kind, settings), shape, kind, settings, at);
  drawingProblem.value = problem;
  // Nothing that was drawn is lost: it can be put right where it stands.
  if (problem) change(kind, at, entry, shape);
}

/** Shapes of one kind as one shape; undefined where they are of several kinds, or none. */
export function inOne(features: readonly Feature[]): Shape | undefined {
  const all = features.map(({geometry}) => many(geometry));
  const polygons = all.flatMap((one) => (one?.type === "MultiPolygon" ? one.coordinates : []));
  const lines = all.flatMap((one) => (one?.type === "MultiLineString" ? one.coordinates : []));
  const points = all.flatMap((one) => (one?.type === "MultiPoint" ? one.coordinates : []));
  const kinds = [polygons, lines, points].filter((some) => some.length > 0);
  if (kinds.length !== 1) return undefined;
  if (polygons.length > 0) return {type: "MultiPolygon", coordinates: polygons};
  return lines.length > 0 ? {type: "MultiLineString", coordinates: lines} : {type: "MultiPoint", coordinates: points};
}

function many(geometry: Geometry): Shape | undefined {
  switch (geometry.type) {
    case "Polygon":
      return {type: "MultiPolygon", coordinates: [geometry.coordinates]};
    case "LineString":
      return {type: "MultiLineString", coordinates: [geometry.coordinates]};
    case "Point":
      return {type: "MultiPoint", coordinates: [geometry.coordinates]};
    case "GeometryCollection":
      return undefined;
    default:
      return geometry;
  }
}

const ofSeveralKinds = (entry: Entry): ApiProblem => ({
  code: "bench/several-kinds",
  message: `${nameOf(entry)} is drawn of areas, lines and places together.`,
  hint: "Draw it again as one of them, or change its file.",
});
