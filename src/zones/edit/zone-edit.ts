import type {LonLat, LonLatPolygon} from "../../geo/shapes.ts";

/**
 * Which zone an edit means, in a way that outlives a new yield season: the zone that holds a place, and the number it had.
 */
export interface ZonePlace {
  /** A point well inside the zone. */
  readonly at: LonLat;
  /**
   * Its number on the map that the edits before this one make. When another zone lies there, the edit no longer applies.
   * Left out, the place alone decides.
   */
  readonly zone?: number | undefined;
}

/**
 * One change by hand to a zone map. Edits are a list, replayed in order over the map as built; undoing is a shorter list.
 */
export type ZoneEdit =
  /** Zones become one, with the number and name of the first. */
  | {readonly edit: "merge"; readonly zones: readonly ZonePlace[]}
  /** A zone is cut by a line; the smaller side becomes a new zone with the next free number. */
  | {
      readonly edit: "split";
      readonly zone: ZonePlace;
      readonly line: readonly LonLat[];
      readonly name?: string | undefined;
    }
  /** A zone is divided into kinds of ground as the whole field was. */
  | {readonly edit: "split"; readonly zone: ZonePlace; readonly parts: number}
  /** The ground in a polygon goes to a zone. */
  | {readonly edit: "assign"; readonly polygon: LonLatPolygon; readonly to: ZonePlace}
  | {readonly edit: "rename"; readonly zone: ZonePlace; readonly name: string}
  /** The ground in a polygon becomes a zone of its own, whatever zones are made around it. */
  | {readonly edit: "pin"; readonly polygon: LonLatPolygon; readonly name?: string | undefined};

/** What became of an edit. */
export interface EditOutcome {
  /** Position in the list, from 1. */
  readonly number: number;
  readonly edit: ZoneEdit["edit"];
  readonly applied: boolean;
  /** Why not. */
  readonly reason?: string;
}
