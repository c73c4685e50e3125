import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {ColumnRoles} from "../api/types.ts";

/** What columns can hold; absent until the server has answered. */
export const columnRoles = signal<ColumnRoles | undefined>(undefined);

let asked = false;

export function loadColumnRoles(): void {
  if (asked) return;
  asked = true;
  got(api["column-roles"].$get()).then(
    (found) => {
      columnRoles.value = found;
    },
    () => {
      asked = false;
    },
  );
}

export interface Role {
  readonly is: string;
  readonly words: string;
  readonly units: readonly string[];
  readonly methods: readonly string[];
}

const bare = (is: string, words: string): Role => ({is, words, units: [], methods: []});
const PLACE = [bare("x", "longitude or easting"), bare("y", "latitude or northing")];

/** What a column of a file taken for this can hold. */
export function rolesFor(as: "yield" | "lab" | "points"): readonly Role[] {
  const roles = columnRoles.value;
  if (as === "points") return [...PLACE, bare("value", "what was measured")];
  if (!roles) return [];
  if (as === "yield") return roles.yield.map(({role, means, units}) => ({is: role, words: means, units, methods: []}));
  const analytes = roles.lab.map(({analyte, units, methods}) => ({is: analyte, words: analyte, units, methods}));
  return [bare("sample id", "sample id"), ...PLACE, ...analytes];
}
