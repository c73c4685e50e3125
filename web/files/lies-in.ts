import type {FieldCard, SourceCard} from "../api/types.ts";

type Outline = FieldCard["outline"];
type Place = readonly [number, number];

/** How a pass beside the border still belongs to the field, metres. */
const NEAR_M = 30;
const METRES_PER_DEGREE = 111_320;

/** The share of places that lie in a field or beside it; the outline is in degrees. NaN without places. */
export function shareIn(outline: Outline, positions: readonly Place[]): number {
  const at = positions.filter((place) => isIn(outline, place) || isNear(outline, place)).length;
  return at / positions.length;
}

/** What a person should know of where a file lies before it counts; empty where it does not tell. */
export function sayWhere(outline: Outline, {positions, box}: SourceCard): {words: string; doubt: boolean} | undefined {
  if (positions && positions.length > 0) {
    const share = shareIn(outline, positions);
    if (share === 0) return {words: "None of its positions lies in this field or beside it.", doubt: true};
    if (share === 1) return {words: "All its positions lie in this field or beside it.", doubt: false};
    const pct = Math.min(99, Math.max(1, Math.round(share * 100)));
    if (share >= 0.5) return {words: `About ${pct} % of its positions lie in this field or beside it.`, doubt: false};
    return {words: `Only about ${pct} % of its positions lie in this field or beside it.`, doubt: true};
  }
  if (!box) return undefined;
  const [west, south, east, north] = box;
  const corners = outline.flat(2) as readonly Place[];
  const lons = corners.map(([lon]) => lon);
  const lats = corners.map(([, lat]) => lat);
  const apart =
    west > Math.max(...lons) || east < Math.min(...lons) || south > Math.max(...lats) || north < Math.min(...lats);
  return apart ? {words: "None of its shapes lies where this field is.", doubt: true} : undefined;
}

/** Outer rings and holes alike: an odd number of crossings to the east is inside. */
function isIn(outline: Outline, [lon, lat]: Place): boolean {
  let inside = false;
  for (const [[x1, y1], [x2, y2]] of edges(outline)) {
    if (y1 > lat !== y2 > lat && lon < x1 + ((lat - y1) / (y2 - y1)) * (x2 - x1)) inside = !inside;
  }
  return inside;
}

function isNear(outline: Outline, [lon, lat]: Place): boolean {
  const perLon = METRES_PER_DEGREE * Math.cos((lat * Math.PI) / 180);
  for (const [[x1, y1], [x2, y2]] of edges(outline)) {
    const [ax, ay] = [(x1 - lon) * perLon, (y1 - lat) * METRES_PER_DEGREE];
    const [dx, dy] = [(x2 - x1) * perLon, (y2 - y1) * METRES_PER_DEGREE];
    const along = Math.min(1, Math.max(0, -(ax * dx + ay * dy) / (dx * dx + dy * dy || 1)));
    if (Math.hypot(ax + along * dx, ay + along * dy) <= NEAR_M) return true;
  }
  return false;
}

function* edges(outline: Outline): Generator<readonly [Place, Place]> {
  for (const ring of outline.flat()) {
    for (let i = 1; i < ring.length; i++) yield [ring[i - 1] as Place, ring[i] as Place];
  }
}
