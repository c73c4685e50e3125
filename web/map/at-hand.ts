import {type ReadonlySignal, signal} from "@preact/signals";
import type {LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon} from "geojson";

/** What comes of each way of drawing. */
export interface Drawn {
  readonly line: LineString;
  readonly polygon: Polygon;
  readonly point: Point;
  /** A shape that is there: its corners are moved, added and taken out. */
  readonly edit: MultiPolygon;
  /** The same of lines. */
  readonly lines: MultiLineString;
  /** Places that are there are moved; they keep their order. */
  readonly points: MultiPoint;
}
export type HandMode = keyof Drawn;
/** Ways of changing what is there, and of drawing what is not. */
export type ChangeMode = "edit" | "lines" | "points";
export type DrawMode = Exclude<HandMode, ChangeMode>;

export const isChange = (mode: HandMode): mode is ChangeMode =>
  mode === "edit" || mode === "lines" || mode === "points";

/** A drawing in the making. */
export interface Hand {
  readonly mode: HandMode;
  /** What is being drawn, in one sentence. */
  readonly says: string;
  /** On the button that ends. */
  readonly done: string;
  /** How many corners are set; of what is changed, how many changes there are. */
  readonly corners: ReadonlySignal<number>;
  /** Whether a corner or place is being carried by keys. */
  readonly carried: ReadonlySignal<boolean>;
  /** Ends the drawing and hands it over; false where too few corners are set. */
  finish(): boolean;
  cancel(): void;
  /** Takes the last corner, or the last change, back. */
  back(): void;
  /** Takes out the corner that is carried, or the one nearest to the cross. Not of "points". */
  takeOut(): void;
}

/** The drawing that is going on, on whichever map. */
export const atHand = signal<Hand | undefined>(undefined);
