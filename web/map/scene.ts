import type {FeatureCollection, Position} from "geojson";

/** What one of the three maps draws. Colours and words are worked out; the map only puts them down. */
export interface Scene {
  /** Properties: `fill`, `unit`, `hatch` (name of a hatch, or absent). */
  readonly areas: FeatureCollection;
  /** Outlines of sampling units over the areas. */
  readonly units: FeatureCollection;
  /** Properties: `text`, `ink`, `room` (metres), `ring` (number in a ring before the text, or absent). */
  readonly labels: FeatureCollection;
  readonly cores: FeatureCollection;
  readonly picture?: Picture;
  /** Unit lines: paper on dark ground, ink on light. */
  readonly lines: "ink" | "paper";
  /** Right of the caption: "63 bags, 41 rates". */
  readonly note: string;
  /** The map in one sentence, for those who do not see it. */
  readonly spoken: string;
}

export interface Picture {
  readonly url: string;
  /** North-west, north-east, south-east, south-west. */
  readonly corners: readonly [Position, Position, Position, Position];
}

export interface Legend {
  readonly title: string;
  readonly steps: readonly string[];
  readonly least: string;
  readonly most: string;
  readonly classes?: readonly {readonly colour: string; readonly name: string; readonly hatch?: string}[];
}

export const NOTHING: FeatureCollection = {type: "FeatureCollection", features: []};
