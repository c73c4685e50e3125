type Ring = readonly (readonly number[])[];

export interface LabelPoint {
  readonly lon: number;
  readonly lat: number;
  /** Distance to the nearest edge, metres: the room a label has above and below, and `wide` times that to its sides. */
  readonly room: number;
}

const METRES_PER_DEGREE = 111_320;
const MOST_CORNERS = 400;

/**
 * The point of a polygon farthest from its edges, by a coarse grid refined around the best cell. Good to a few metres. For
 * a label so many times as wide as it is high, distances from west to east count for that much less.
 */
export function labelPoint(rings: readonly Ring[], wide = 1): LabelPoint | undefined {
  const outer = rings[0];
  if (!outer || outer.length < 4) return undefined;
  const lat0 = outer[0]?.[1] ?? 0;
  const scaleX = (METRES_PER_DEGREE * Math.cos((lat0 * Math.PI) / 180)) / wide;
  const flat = rings.map((ring) => thin(ring).map(([lon = 0, lat = 0]) => [lon * scaleX, lat * METRES_PER_DEGREE]));
  const xs = (flat[0] as number[][]).map((p) => p[0] as number);
  const ys = (flat[0] as number[][]).map((p) => p[1] as number);
  let [west, east, south, north] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  let best = {x: (west + east) / 2, y: (south + north) / 2, room: -Infinity};
  let steps = 14;
  for (let round = 0; round < 4; round++) {
    const [dx, dy] = [(east - west) / steps, (north - south) / steps];
    for (let i = 0; i <= steps; i++) {
      for (let j = 0; j <= steps; j++) {
        const [x, y] = [west + i * dx, south + j * dy];
        const room = signedDistance(x, y, flat);
        if (room > best.room) best = {x, y, room};
      }
    }
    [west, east, south, north] = [best.x - dx, best.x + dx, best.y - dy, best.y + dy];
    steps = 4;
  }
  return {lon: best.x / scaleX, lat: best.y / METRES_PER_DEGREE, room: Math.max(0, best.room)};
}

/** Every so-manieth corner of a long ring: enough for a label. */
function thin(ring: Ring): Ring {
  const every = Math.ceil(ring.length / MOST_CORNERS);
  return every === 1 ? ring : ring.filter((_, i) => i % every === 0 || i === ring.length - 1);
}

/** Distance to the edges, below zero outside. */
function signedDistance(x: number, y: number, rings: readonly number[][][]): number {
  let inside = false;
  let nearest = Infinity;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [ax, ay] = ring[i] as [number, number];
      const [bx, by] = ring[j] as [number, number];
      if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
      nearest = Math.min(nearest, distanceToSegment(x, y, ax, ay, bx, by));
    }
  }
  return (inside ? 1 : -1) * Math.sqrt(nearest);
}

function distanceToSegment(x: number, y: number, ax: number, ay: number, bx: number, by: number): number {
  const [dx, dy] = [bx - ax, by - ay];
  const length = dx * dx + dy * dy;
  const t = length === 0 ? 0 : Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / length));
  const [ex, ey] = [ax + t * dx - x, ay + t * dy - y];
  return ex * ex + ey * ey;
}
