import {api, got, problemOf} from "../../api/client.ts";
import type {ApiProblem, GroundKind} from "../../api/types.ts";
import {page} from "../../state/field.ts";
import {attachShape, edgeOfField, fileFor} from "./draft.ts";
import {drawingProblem} from "./drawing-problem.ts";
import {type Entry, entriesIn, nameOf, settingsOf} from "./grounds.ts";
import {drawOnMap} from "./on-map.ts";
import {inOne, type Shape} from "./one-shape.ts";

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
    if (shape) change(kind, entry, shape);
    return shape ? undefined : ofSeveralKinds(entry);
  } catch (error) {
    return problemOf(error);
  }
}

function change(kind: GroundKind, entry: Entry, shape: Shape): void {
  const options = {
    says: `${nameOf(entry)}, as it was drawn.`,
    done: "Keep it",
    snapTo: edgeOfField(),
    finish: (changed: Shape) => void keep(kind, entry, changed),
    cancel: () => {
      drawingProblem.value = undefined;
    },
  };
  if (shape.type === "MultiPolygon") void drawOnMap("edit", {...options, geometry: shape});
  else if (shape.type === "MultiLineString") void drawOnMap("lines", {...options, geometry: shape});
  else void drawOnMap("points", {...options, geometry: shape});
}

/** A new file in the place of the old one, which stays among the field's files. */
async function keep(kind: GroundKind, entry: Entry, shape: Shape): Promise<void> {
  const settings = settingsOf(entry);
  const problem = await attachShape(fileFor(kind, settings), shape, kind, settings, entry);
  drawingProblem.value = problem;
  // Nothing that was drawn is lost: it can be put right where it stands.
  if (problem) change(kind, entry, shape);
}

const ofSeveralKinds = (entry: Entry): ApiProblem => ({
  code: "bench/several-kinds",
  message: `${nameOf(entry)} is drawn of areas, lines and places together.`,
  hint: "Draw it again as one of them, or change its file.",
});
