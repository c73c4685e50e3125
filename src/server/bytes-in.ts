/**
 * About how many bytes plain data takes: what typed arrays hold and a little for everything else. Each object counts
 * once, however often it is met.
 */
export function bytesIn(value: unknown): number {
  const seen = new Set<object>();
  const left: unknown[] = [value];
  let bytes = 0;
  while (left.length > 0) {
    const next = left.pop();
    if (typeof next === "string") bytes += 2 * next.length;
    bytes += A_VALUE;
    if (typeof next !== "object" || next === null || seen.has(next)) continue;
    seen.add(next);
    if (ArrayBuffer.isView(next)) bytes += next.byteLength;
    else if (next instanceof Map) for (const entry of next) left.push(...entry);
    else for (const inner of Object.values(next)) left.push(inner);
  }
  return bytes;
}

const A_VALUE = 8;
