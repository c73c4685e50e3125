import {signal} from "@preact/signals";
import {fields} from "../../state/book.ts";
import {page} from "../../state/field.ts";
import {attachShape} from "./draft.ts";
import {drawingProblem} from "./drawing-problem.ts";
import {drawOnMap} from "./on-map.ts";
import {multiPolygon, type Parts, withCutOut, withoutRing, withPart} from "./parts.ts";

export const savingBoundary = signal(false);

export const partsNow = (): Parts => (page.value?.card.outline ?? []) as unknown as Parts;

/** Lets corners of the boundary be moved, added and taken out. */
export function changeCorners(parts: Parts = partsNow()): void {
  void drawOnMap("edit", {
    says: "The edge of the field and of what is cut out of it.",
    done: "Save the boundary",
    geometry: multiPolygon(parts),
    snapTo: neighbours(),
    finish: ({coordinates}) => void saveBoundary(coordinates),
    cancel: () => {
      drawingProblem.value = undefined;
    },
  });
}

/** Draws ground that is cut out, as a waterway or a farmstead within the field. */
export function cutOut(): void {
  drawingProblem.value = undefined;
  void drawOnMap("polygon", {
    says: "Ground within the field that does not belong to it.",
    done: "Cut it out",
    finish: (drawn) => {
      const next = withCutOut(partsNow(), drawn);
      if (next) void saveBoundary(next);
      else {
        drawingProblem.value = {
          code: "bench/cut-out-elsewhere",
          message: "What was drawn lies outside the field, so there is nothing to cut out.",
          hint: "Draw it within the boundary.",
        };
      }
    },
  });
}

/** Draws one more part of the field, as beyond a road. */
export function addPart(): void {
  drawingProblem.value = undefined;
  void drawOnMap("polygon", {
    says: "One more part of the field.",
    done: "Add the part",
    snapTo: neighbours(),
    finish: (drawn) => void saveBoundary(withPart(partsNow(), drawn)),
  });
}

export function takeRingOut(part: number, ring: number): void {
  void saveBoundary(withoutRing(partsNow(), part, ring), false);
}

/** A new boundary file in the place of the old one, which stays among the field's files. */
async function saveBoundary(parts: Parts, again = true): Promise<void> {
  savingBoundary.value = true;
  const problem = await attachShape("boundary drawn.geojson", multiPolygon(parts), "boundary", {});
  savingBoundary.value = false;
  drawingProblem.value = problem;
  // Nothing that was drawn is lost: it can be put right where it stands.
  if (problem && again) changeCorners(parts);
}

/** Other fields of the book, to whose edges a corner is drawn. */
function neighbours(): GeoJSON.MultiPolygon[] {
  const own = page.peek()?.card.id;
  return (fields.peek() ?? [])
    .filter(({id}) => id !== own)
    .map(({outline}) => multiPolygon(outline as unknown as Parts));
}
