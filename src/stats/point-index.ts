/** Points of a plane sorted into square buckets, for finding what is near. Plain data; build with `indexPoints`. */
export interface PointIndex {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly west: number;
  readonly south: number;
  readonly size: number;
  readonly cols: number;
  readonly rows: number;
  /** Points of bucket b are `order[start[b] … start[b + 1])`, in rising order. */
  readonly start: Int32Array;
  readonly order: Int32Array;
}

/** Few enough points per bucket to search quickly, enough that empty buckets stay rare. */
const PER_BUCKET = 4;

/**
 * Sorts points into buckets. Points with a NaN coordinate are left out.
 *
 * @param only - Indexes to take, in rising order. Default all.
 */
export function indexPoints(x: Float64Array, y: Float64Array, only?: Int32Array): PointIndex {
  const asked = only?.length ?? x.length;
  const taken = new Int32Array(asked);
  let count = 0;
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (let k = 0; k < asked; k++) {
    const i = only ? (only[k] as number) : k;
    const px = x[i] as number;
    const py = y[i] as number;
    if (!Number.isFinite(px + py)) continue;
    taken[count++] = i;
    if (px < west) west = px;
    if (px > east) east = px;
    if (py < south) south = py;
    if (py > north) north = py;
  }
  if (count === 0) west = east = south = north = 0;
  const width = east - west;
  const height = north - south;
  // A line of points has no area; buckets along its length serve as well.
  const size =
    Math.max(Math.sqrt((width * height * PER_BUCKET) / count), (Math.max(width, height) * PER_BUCKET) / count) || 1;
  const cols = Math.floor(width / size) + 1;
  const rows = Math.floor(height / size) + 1;

  const start = new Int32Array(cols * rows + 1);
  const bucket = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    const i = taken[k] as number;
    const b = Math.floor(((y[i] as number) - south) / size) * cols + Math.floor(((x[i] as number) - west) / size);
    bucket[k] = b;
    start[b + 1] = (start[b + 1] as number) + 1;
  }
  for (let b = 0; b < cols * rows; b++) start[b + 1] = (start[b + 1] as number) + (start[b] as number);
  const next = start.slice();
  const order = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    const b = bucket[k] as number;
    order[next[b] as number] = taken[k] as number;
    next[b] = (next[b] as number) + 1;
  }
  return {x, y, west, south, size, cols, rows, start, order};
}

/** Room for the answer of one `nearest` call, so that a loop over many places allocates once. */
export interface Found {
  /** Nearest first; equal distances by lower index. */
  readonly index: Int32Array;
  readonly distance2: Float64Array;
}

export function roomFor(count: number): Found {
  return {index: new Int32Array(count), distance2: new Float64Array(count)};
}

/**
 * The nearest points to a place, up to as many as `found` has room for.
 *
 * @param within - Points farther away than this are not found. Default any distance.
 * @param without - Index of a point to pass over, such as the one asked about.
 * @returns How many were found.
 */
export function nearest(
  points: PointIndex,
  px: number,
  py: number,
  found: Found,
  within = Infinity,
  without = -1,
): number {
  const {west, south, size, cols, rows} = points;
  const col = Math.max(0, Math.min(cols - 1, Math.floor((px - west) / size)));
  const row = Math.max(0, Math.min(rows - 1, Math.floor((py - south) / size)));
  const most = found.index.length;
  let count = 0;
  for (let ring = 0; ; ring++) {
    const left = col - ring;
    const right = col + ring;
    const low = row - ring;
    const high = row + ring;
    for (let r = Math.max(0, low); r <= Math.min(rows - 1, high); r++) {
      // Inner rows of a ring hold only its two ends.
      const step = r === low || r === high ? 1 : Math.max(1, right - left);
      for (let c = left; c <= right; c += step) {
        if (c >= 0 && c < cols) count = takeFrom(points, r * cols + c, px, py, within * within, without, found, count);
      }
    }
    // Everything nearer than the block's closest inner side has been seen.
    const reach = Math.min(
      left <= 0 ? Infinity : px - (west + left * size),
      right >= cols - 1 ? Infinity : west + (right + 1) * size - px,
      low <= 0 ? Infinity : py - (south + low * size),
      high >= rows - 1 ? Infinity : south + (high + 1) * size - py,
    );
    if (reach === Infinity || reach > within) return count;
    if (count === most && reach * reach > (found.distance2[most - 1] as number)) return count;
  }
}

/** Room for `nearestAround`: what is found, and the candidates it is chosen from. */
export interface FoundAround extends Found {
  readonly candidates: Found;
  readonly taken: Uint8Array;
}

/** So many candidates are looked at for each point to be found. */
const CANDIDATES = 4;

export function roomAround(count: number): FoundAround {
  const candidates = roomFor(CANDIDATES * count);
  return {...roomFor(count), candidates, taken: new Uint8Array(CANDIDATES * count)};
}

/**
 * Near points on all sides of a place: of the four times as many nearest, each quarter (or eighth) of the compass gives
 * its nearest up to an even share, and what room is left goes to the nearest of the rest.
 *
 * @returns How many were found; nearest first.
 */
export function nearestAround(
  points: PointIndex,
  px: number,
  py: number,
  found: FoundAround,
  sectors: 4 | 8,
  within = Infinity,
  without = -1,
): number {
  const {candidates, taken} = found;
  const count = nearest(points, px, py, candidates, within, without);
  const most = found.index.length;
  const share = Math.ceil(most / sectors);
  taken.fill(0, 0, count);
  let chosen = 0;
  for (let sector = 0; sector < sectors; sector++) {
    let own = 0;
    for (let k = 0; k < count && own < share && chosen < most; k++) {
      const i = candidates.index[k] as number;
      if (sectorOf((points.x[i] as number) - px, (points.y[i] as number) - py, sectors) !== sector) continue;
      taken[k] = 1;
      own++;
      chosen++;
    }
  }
  for (let k = 0; k < count && chosen < most; k++) {
    if (taken[k]) continue;
    taken[k] = 1;
    chosen++;
  }
  let at = 0;
  for (let k = 0; k < count; k++) {
    if (!taken[k]) continue;
    found.index[at] = candidates.index[k] as number;
    found.distance2[at++] = candidates.distance2[k] as number;
  }
  return at;
}

/** Quarters or eighths of the compass, numbered from 0; borders belong to one of them. */
function sectorOf(dx: number, dy: number, sectors: 4 | 8): number {
  const quarter = (dx >= 0 ? 1 : 0) + (dy >= 0 ? 2 : 0);
  return sectors === 4 ? quarter : 2 * quarter + (Math.abs(dx) > Math.abs(dy) ? 1 : 0);
}

function takeFrom(
  points: PointIndex,
  bucket: number,
  px: number,
  py: number,
  within2: number,
  without: number,
  found: Found,
  count: number,
): number {
  const {index, distance2} = found;
  const most = index.length;
  const end = points.start[bucket + 1] as number;
  for (let k = points.start[bucket] as number; k < end; k++) {
    const i = points.order[k] as number;
    const dx = (points.x[i] as number) - px;
    const dy = (points.y[i] as number) - py;
    const d = dx * dx + dy * dy;
    if (d > within2 || i === without) continue;
    if (count === most) {
      const worst = distance2[most - 1] as number;
      if (d > worst || (d === worst && i > (index[most - 1] as number))) continue;
    } else {
      count++;
    }
    let at = count - 1;
    while (
      at > 0 &&
      ((distance2[at - 1] as number) > d || (distance2[at - 1] === d && (index[at - 1] as number) > i))
    ) {
      distance2[at] = distance2[at - 1] as number;
      index[at] = index[at - 1] as number;
      at--;
    }
    distance2[at] = d;
    index[at] = i;
  }
  return count;
}

/** Calls back with every point within a radius and its squared distance, in a fixed order. */
export function forEachWithin(
  points: PointIndex,
  px: number,
  py: number,
  radius: number,
  visit: (index: number, distance2: number) => void,
): void {
  const {west, south, size, cols, rows} = points;
  const left = Math.max(0, Math.floor((px - radius - west) / size));
  const right = Math.min(cols - 1, Math.floor((px + radius - west) / size));
  const low = Math.max(0, Math.floor((py - radius - south) / size));
  const high = Math.min(rows - 1, Math.floor((py + radius - south) / size));
  for (let r = low; r <= high; r++) {
    for (let c = left; c <= right; c++) {
      const end = points.start[r * cols + c + 1] as number;
      for (let k = points.start[r * cols + c] as number; k < end; k++) {
        const i = points.order[k] as number;
        const dx = (points.x[i] as number) - px;
        const dy = (points.y[i] as number) - py;
        const d = dx * dx + dy * dy;
        if (d <= radius * radius) visit(i, d);
      }
    }
  }
}
