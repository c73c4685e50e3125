import {effect, signal} from "@preact/signals";
import type {ApiProblem} from "../../api/types.ts";
import {fieldId} from "../../state/field.ts";

/** Why ground as drawn will not do, in the server's words; the drawing is still there. */
export const drawingProblem = signal<ApiProblem | undefined>(undefined);
effect(() => {
  fieldId.value;
  drawingProblem.value = undefined;
});
