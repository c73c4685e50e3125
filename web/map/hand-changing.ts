import type {Geometry, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon, Position} from "geojson";
import type {ChangeMode} from "./at-hand.ts";
import type {Maker, Tools} from "./hand-drawing.ts";
import {reach, rounded, type Terra, terraMode} from "./terra.ts";

/** A corner, or a place: which piece of the drawing, and which of its corners. */
interface Corner {
  readonly piece: number;
  readonly corner: number;
}

/** Pixels from the cross within which a border gets a new corner instead of the nearest one being fetched. */
const ON_BORDER = 10;

type Shape = Polygon | MultiPolygon | MultiLineString | MultiPoint;

/** As the library calls what a piece is. */
const PIECES = {edit: "polygon", lines: "linestring", points: "point"} as const;

/** Fewest corners of a piece; a ring has its first again at its end. */
const FEWEST: Readonly<Record<ChangeMode, number>> = {edit: 4, lines: 2, points: 1};

/** Changes a shape that is there: each ring, line or place is a piece of its own in the library, which knows no more. */
export function changing(tools: Tools, mode: ChangeMode, shape: Shape): Maker {
  const {gl, snap, corners, carried} = tools;
  const parts = partsOf(shape);
  const first = parts.flat().map((ring) => ring.map(([lon = 0, lat = 0]): Position => [rounded(lon), rounded(lat)]));
  const past: (readonly Position[][])[] = [];
  let ids: (string | number)[] = [];
  let terra: Terra | undefined;
  let before: readonly Position[][] = first;
  let held: Corner | undefined;

  const now = (): Position[][] =>
    ids.map((id, piece) => cornersIn(terra?.getSnapshotFeature(id)?.geometry) ?? (first[piece] as Position[]));
  const put = (piece: number, ring: Position[]): void => {
    terra?.updateFeatureGeometry(ids[piece] as string, pieceOf(mode, ring));
  };
  const kept = (): void => {
    past.push(before);
    before = now();
    corners.value = past.length;
    tools.changed();
  };
  const hold = (corner: Corner | undefined): void => {
    held = corner;
    carried.value = corner !== undefined;
  };
  const carry = (): void => {
    if (!held) return;
    const {lng, lat} = gl.getCenter();
    const [lon = lng, north = lat] = snap(lng, lat, gl.getZoom()) ?? [];
    const corners = moved(
      now()[held.piece] as Position[],
      held.corner,
      [rounded(lon), rounded(north)],
      mode === "edit",
    );
    put(held.piece, corners);
    tools.changed();
  };
  const nearest = (at = gl.getCenter()) => nearestTo(at, now(), gl.getZoom(), mode);

  return {
    mode: terraMode(mode, snap, () => gl.getZoom()),
    begin(begun) {
      terra = begun;
      ids = first.map(() => begun.getFeatureId());
      const properties = {mode: PIECES[mode]};
      begun.addFeatures(
        first.map((ring, piece) => ({
          id: ids[piece] as string,
          type: "Feature" as const,
          properties,
          geometry: pieceOf(mode, ring),
        })),
      );
      begun.on("finish", kept);
    },
    drawn(): Geometry {
      const rings = now();
      if (mode === "lines") return {type: "MultiLineString", coordinates: rings};
      if (mode === "points") return {type: "MultiPoint", coordinates: rings.map((ring) => ring[0] as Position)};
      let next = 0;
      return {type: "MultiPolygon", coordinates: parts.map((part) => part.map(() => rings[next++] as Position[]))};
    },
    crossMoved: carry,
    takes(x, y) {
      const {corner} = nearest(gl.unproject([x, y]));
      if (!corner) return undefined;
      const [lon = 0, lat = 0] = corner.at;
      const at = gl.project([lon, lat]);
      return Math.hypot(at.x - x, at.y - y) < reach() ? corner.at : undefined;
    },
    setCorner() {
      if (held) {
        hold(undefined);
        kept();
        return;
      }
      const {corner, border} = nearest();
      if (border) {
        const ring = now()[border.piece] as Position[];
        put(border.piece, ring.toSpliced(border.corner, 0, border.at));
        hold(border);
      } else if (corner) {
        const [lon = 0, lat = 0] = corner.at;
        hold(corner);
        gl.jumpTo({center: [lon, lat]});
      }
    },
    back() {
      hold(undefined);
      const last = past.pop();
      if (!last) return;
      for (const [piece, ring] of last.entries()) put(piece, [...ring]);
      before = last;
      corners.value = past.length;
      tools.changed();
    },
    takeOut() {
      const corner = held ?? nearest().corner;
      const ring = corner && now()[corner.piece];
      if (!corner || !ring || ring.length <= FEWEST[mode]) return;
      const rest = cornersOf(ring, mode).toSpliced(corner.corner, 1);
      put(corner.piece, mode === "edit" ? [...rest, rest[0] as Position] : rest);
      hold(undefined);
      kept();
    },
  };
}

function pieceOf(mode: ChangeMode, corners: Position[]): Polygon | LineString | Point {
  if (mode === "edit") return {type: "Polygon", coordinates: [corners]};
  return mode === "lines"
    ? {type: "LineString", coordinates: corners}
    : {type: "Point", coordinates: corners[0] as Position};
}

/** Each corner once. */
const cornersOf = (piece: readonly Position[], mode: ChangeMode): Position[] =>
  mode === "edit" ? piece.slice(0, -1) : [...piece];

function partsOf(shape: Shape): Position[][][] {
  if (shape.type === "MultiPoint") return shape.coordinates.map((at) => [[at]]);
  if (shape.type === "MultiLineString") return shape.coordinates.map((line) => [line]);
  return shape.type === "Polygon" ? [shape.coordinates] : shape.coordinates;
}

function cornersIn(geometry: Geometry | undefined): Position[] | undefined {
  if (geometry?.type === "Polygon") return geometry.coordinates[0];
  if (geometry?.type === "LineString") return geometry.coordinates;
  return geometry?.type === "Point" ? [geometry.coordinates] : undefined;
}

/** A piece with one corner elsewhere; of a ring the first is the last. */
function moved(piece: readonly Position[], corner: number, to: Position, isRing: boolean): Position[] {
  const next = piece.with(corner, to);
  return isRing && corner === 0 ? next.with(-1, to) : next;
}

/** The corner nearest to a place, and the border if that runs through it; a new corner of it would come before `corner`. */
function nearestTo(
  {lng, lat}: {readonly lng: number; readonly lat: number},
  rings: readonly Position[][],
  zoom: number,
  mode: ChangeMode,
): {corner?: Corner & {at: Position}; border?: Corner & {at: Position}} {
  const across = (512 * 2 ** zoom) / 360;
  const up = across / Math.cos((lat * Math.PI) / 180);
  const pixels = ([lon = 0, north = 0]: Position): [number, number] => [(lon - lng) * across, (north - lat) * up];
  let corner: (Corner & {at: Position; away: number}) | undefined;
  let border: (Corner & {at: Position; away: number}) | undefined;
  rings.forEach((ring, piece) => {
    cornersOf(ring, mode).forEach((at, i) => {
      const [x, y] = pixels(at);
      const away = Math.hypot(x, y);
      if (away < (corner?.away ?? Infinity)) corner = {piece, corner: i, at, away};
      const next = ring[i + 1];
      if (!next) return;
      const [nx, ny] = pixels(next);
      const [dx, dy] = [nx - x, ny - y];
      const length = dx * dx + dy * dy || 1;
      const t = Math.max(0, Math.min(1, -(x * dx + y * dy) / length));
      const gap = Math.hypot(x + t * dx, y + t * dy);
      if (gap < (border?.away ?? ON_BORDER))
        border = {piece, corner: i + 1, at: [rounded(lng), rounded(lat)], away: gap};
    });
  });
  if (corner && corner.away <= ON_BORDER) return {corner};
  return {...(corner && {corner}), ...(border && {border})};
}
