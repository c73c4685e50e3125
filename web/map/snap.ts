import type {Geometry, Position} from "geojson";

/** Where a place near a corner or a line is drawn to, or undefined where none is near. */
export type Snap = (lon: number, lat: number, zoom: number) => Position | undefined;

/** Pixels within which a corner draws a place to itself, and within which a line does. */
const CORNER_REACH = 12;
const LINE_REACH = 9;

/** Draws places to the corners of shapes first, then to their lines. */
export function snapTo(shapes: readonly Geometry[]): Snap {
  const lines = shapes.flatMap(linesOf);
  return (lon, lat, zoom) => {
    const across = (512 * 2 ** zoom) / 360;
    const up = across / Math.cos((lat * Math.PI) / 180);
    let corner: {away: number; at: Position} | undefined;
    let line: {away: number; at: Position} | undefined;
    for (const points of lines) {
      for (let i = 0; i < points.length; i++) {
        const [bx = 0, by = 0] = points[i] as Position;
        const [x, y] = [(bx - lon) * across, (by - lat) * up];
        const away = Math.hypot(x, y);
        if (away < (corner?.away ?? CORNER_REACH)) corner = {away, at: [bx, by]};
        const before = points[i - 1];
        if (!before) continue;
        const [ax = 0, ay = 0] = before;
        const [dx, dy] = [x - (ax - lon) * across, y - (ay - lat) * up];
        const length = dx * dx + dy * dy;
        if (length === 0) continue;
        // Share of the way back from this corner to the one before, where the line comes nearest.
        const t = Math.max(0, Math.min(1, (x * dx + y * dy) / length));
        const gap = Math.hypot(x - t * dx, y - t * dy);
        if (gap < (line?.away ?? LINE_REACH)) line = {away: gap, at: [bx + t * (ax - bx), by + t * (ay - by)]};
      }
    }
    return (corner ?? line)?.at;
  };
}

function linesOf(shape: Geometry): Position[][] {
  switch (shape.type) {
    case "Point":
      return [[shape.coordinates]];
    case "MultiPoint":
      return shape.coordinates.map((at) => [at]);
    case "LineString":
      return [shape.coordinates];
    case "MultiLineString":
    case "Polygon":
      return shape.coordinates;
    case "MultiPolygon":
      return shape.coordinates.flat();
    case "GeometryCollection":
      return shape.geometries.flatMap(linesOf);
  }
}
