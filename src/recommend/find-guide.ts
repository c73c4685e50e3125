import {FieldError} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Guide} from "./guide.ts";
import {triState2020} from "./guides/tri-state-2020.ts";

/** Every guide the program holds. */
export const GUIDES: readonly Guide[] = [triState2020];

/** @throws {FieldError} `recommend/no-guide` for an id that is none of `GUIDES`. */
export function findGuide(id: string): Guide {
  const guide = GUIDES.find((g) => g.id === id);
  if (guide) return guide;
  const ids = GUIDES.map((g) => g.id);
  const nearest = nearestName(id, ids);
  throw new FieldError("recommend/no-guide", `There is no guide "${id}".`, {
    hint: nearest ? `Did you mean "${nearest}"?` : `Use one of: ${ids.join(", ")}.`,
  });
}
