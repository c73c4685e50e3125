import {FieldError} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Guide} from "./guide.ts";
import {illinois2009} from "./guides/illinois-2009.ts";
import {iowa2013} from "./guides/iowa-2013.ts";
import {kansasBuildMaintain} from "./guides/kansas-build-maintain.ts";
import {kansasSufficiency} from "./guides/kansas-sufficiency.ts";
import {minnesota2006} from "./guides/minnesota-2006.ts";
import {nebraska2023} from "./guides/nebraska-2023.ts";
import {southDakota2005} from "./guides/south-dakota-2005.ts";
import {triState1995} from "./guides/tri-state-1995.ts";
import {triState2020} from "./guides/tri-state-2020.ts";

/** Every guide the program holds. */
export const GUIDES: readonly Guide[] = [
  triState2020,
  triState1995,
  iowa2013,
  kansasSufficiency,
  kansasBuildMaintain,
  illinois2009,
  minnesota2006,
  southDakota2005,
  nebraska2023,
];

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
