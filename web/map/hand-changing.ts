import type {Geometry, MultiPoint, MultiPolygon, Point, Polygon, Position} from "geojson";
import type {Maker, Tools} from "./hand-drawing.ts";
import {reach, rounded, type Terra, terraMode} from "./terra.ts";

/** A corner, or a place: which piece of the drawing, and which of its corners. */
interface Corner {
  readonly piece: number;
  readonly corner: number;
}

/** Pixels from the cross within which a border gets a new corner instead of the nearest one being fetched. */
const ON_BORDER = 10;

/** Changes a shape that is there: each ring, or each place, is a piece of its own in the library, which knows no more. */
export function changing(tools: Tools, mode: "edit" | "points", shape: Polygon | MultiPolygon | MultiPoint): Maker {
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
    const geometry: Polygon | Point =
      mode === "edit" ? {type: "Polygon", coordinates: [ring]} : {type: "Point", coordinates: ring[0] as Position};
    terra?.updateFeatureGeometry(ids[piece] as string, geometry);
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
    put(held.piece, moved(now()[held.piece] as Position[], held.corner, [rounded(lon), rounded(north)]));
    tools.changed();
  };
  const nearest = (at = gl.getCenter()) => nearestTo(at, now(), gl.getZoom(), mode === "edit");

  return {
    mode: terraMode(mode, snap, () => gl.getZoom()),
    begin(begun) {
      terra = begun;
      ids = first.map(() => begun.getFeatureId());
      const properties = {mode: mode === "edit" ? "polygon" : "point"};
      begun.addFeatures(
        first.map((ring, piece) => ({
          id: ids[piece] as string,
          type: "Feature" as const,
          properties,
          geometry:
            mode === "edit"
              ? {type: "Polygon" as const, coordinates: [ring]}
              : {type: "Point" as const, coordinates: ring[0] as Position},
        })),
      );
      begun.on("finish", kept);
    },
    drawn(): Geometry {
      const rings = now();
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
      // A ring of three corners, which has the first again at its end, has none to spare.
      if (mode !== "edit" || !corner || !ring || ring.length <= 4) return;
      const rest = ring.slice(0, -1).toSpliced(corner.corner, 1);
      put(corner.piece, [...rest, rest[0] as Position]);
      hold(undefined);
      kept();
    },
  };
}

function partsOf(shape: Polygon | MultiPolygon | MultiPoint): Position[][][] {
  if (shape.type === "MultiPoint") return shape.coordinates.map((at) => [[at]]);
  return shape.type === "Polygon" ? [shape.coordinates] : shape.coordinates;
}

function cornersIn(geometry: Geometry | undefined): Position[] | undefined {
  if (geometry?.type === "Polygon") return geometry.coordinates[0];
  return geometry?.type === "Point" ? [geometry.coordinates] : undefined;
}

/** A ring with one corner elsewhere; its first is its last. */
function moved(ring: readonly Position[], corner: number, to: Position): Position[] {
  const next = ring.with(corner, to);
  return corner === 0 && ring.length > 1 ? next.with(-1, to) : next;
}

/** The corner nearest to a place, and the border if that runs through it; a new corner of it would come before `corner`. */
function nearestTo(
  {lng, lat}: {readonly lng: number; readonly lat: number},
  rings: readonly Position[][],
  zoom: number,
  borders: boolean,
): {corner?: Corner & {at: Position}; border?: Corner & {at: Position}} {
  const across = (512 * 2 ** zoom) / 360;
  const up = across / Math.cos((lat * Math.PI) / 180);
  const pixels = ([lon = 0, north = 0]: Position): [number, number] => [(lon - lng) * across, (north - lat) * up];
  let corner: (Corner & {at: Position; away: number}) | undefined;
  let border: (Corner & {at: Position; away: number}) | undefined;
  rings.forEach((ring, piece) => {
    const own = ring.length > 1 ? ring.slice(0, -1) : ring;
    own.forEach((at, i) => {
      const [x, y] = pixels(at);
      const away = Math.hypot(x, y);
      if (away < (corner?.away ?? Infinity)) corner = {piece, corner: i, at, away};
      const next = ring[i + 1];
      if (!borders || !next) return;
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
