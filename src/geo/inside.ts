import type {MultiPolygon, XY} from "./shapes.ts";

/**
 * `contains` prepared for many points of one shape: edges are sorted into strips by height, so a point is tested
 * against the few edges at its own height. Even-odd over all rings, edges as in `contains`.
 */
export function insideTest(shape: MultiPolygon): (x: number, y: number) => boolean {
  const edges: {a: XY; b: XY}[] = [];
  let low = Infinity;
  let high = -Infinity;
  for (const ring of shape.flat()) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i] as XY;
      const b = ring[i + 1] as XY;
      edges.push({a, b});
      low = Math.min(low, a.y);
      high = Math.max(high, a.y);
    }
  }
  const count = Math.max(1, Math.min(4096, edges.length));
  const height = (high - low) / count || 1;
  const strips: {a: XY; b: XY}[][] = Array.from({length: count}, () => []);
  const stripOf = (y: number): number => Math.max(0, Math.min(count - 1, Math.floor((y - low) / height)));
  for (const edge of edges) {
    const first = stripOf(Math.min(edge.a.y, edge.b.y));
    const last = stripOf(Math.max(edge.a.y, edge.b.y));
    for (let s = first; s <= last; s++) strips[s]?.push(edge);
  }
  return (x, y) => {
    if (!(y >= low && y <= high)) return false;
    let inside = false;
    for (const {a, b} of strips[stripOf(y)] as {a: XY; b: XY}[]) {
      if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
    }
    return inside;
  };
}
