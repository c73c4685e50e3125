import {brotliCompressSync, brotliDecompressSync, constants} from "node:zlib";

// Plain data as bytes and back: JSON for what it can say, typed arrays beside it as they are in memory, all of it
// compressed. Numbers come back to the last bit, maps as maps.

const ARRAYS = {Float64Array, Float32Array, Int32Array, Uint32Array, Int16Array, Uint16Array, Int8Array, Uint8Array};
type ArrayName = keyof typeof ARRAYS;
type Packable = InstanceType<(typeof ARRAYS)[ArrayName]>;

/** What JSON has no word for stands in an object with this one key, which nobody's data has. */
const MARK = "\u0000";
/** Quick, and near what it can do: arrays of measured values hardly shrink. */
const QUALITY = 3;
const ALIGNED = 8;
const MOST_BYTES = 2 ** 30;

type Word = ["map", unknown[]] | ["number", string] | ["array", ArrayName, number, number];

/**
 * Packs plain objects, lists, maps, typed arrays, strings, numbers, true, false and null. What is undefined is left out.
 * Arrays that are met twice are packed once.
 */
export function pack(value: unknown): Uint8Array {
  const arrays: Packable[] = [];
  const places = new Map<Packable, number>();
  let length = 0;
  const placeOf = (array: Packable): number => {
    const known = places.get(array);
    if (known !== undefined) return known;
    const at = length;
    places.set(array, at);
    arrays.push(array);
    length = aligned(at + array.byteLength);
    return at;
  };
  const text = JSON.stringify(value, (_, part: unknown) => {
    if (typeof part === "number" && (!Number.isFinite(part) || Object.is(part, -0))) return say("number", wordOf(part));
    if (part instanceof Map) return say("map", [...part]);
    const name = nameOf(part);
    return name ? say("array", name, placeOf(part as Packable), (part as Packable).length) : part;
  });
  const json = Buffer.from(text);
  const start = aligned(ALIGNED + json.length);
  const bytes = Buffer.alloc(start + length);
  bytes.writeUInt32LE(json.length, 0);
  json.copy(bytes, ALIGNED);
  for (const array of arrays) {
    bytes.set(new Uint8Array(array.buffer, array.byteOffset, array.byteLength), start + (places.get(array) ?? 0));
  }
  return brotliCompressSync(bytes, {params: {[constants.BROTLI_PARAM_QUALITY]: QUALITY}});
}

/** @throws {Error} for bytes that were not packed here. */
export function unpack(packed: Uint8Array): unknown {
  const whole = brotliDecompressSync(packed, {maxOutputLength: MOST_BYTES});
  // Into a buffer of its own, so that arrays lie where they may.
  const bytes = new Uint8Array(whole.length);
  bytes.set(whole);
  const size = new DataView(bytes.buffer).getUint32(0, true);
  const start = aligned(ALIGNED + size);
  const text = new TextDecoder().decode(bytes.subarray(ALIGNED, ALIGNED + size));
  const shared = new Map<string, Packable>();
  return JSON.parse(text, (_, part: unknown) => {
    const word = part !== null && typeof part === "object" ? (part as {[MARK]?: Word})[MARK] : undefined;
    if (!word) return part;
    switch (word[0]) {
      case "number":
        return word[1] === "-0" ? -0 : Number(word[1]);
      case "map":
        return new Map(word[1] as [unknown, unknown][]);
      case "array": {
        const [, name, at, length] = word;
        const key = `${name} ${at} ${length}`;
        const array = shared.get(key) ?? new ARRAYS[name](bytes.buffer, start + at, length);
        shared.set(key, array);
        return array;
      }
    }
  });
}

const say = (...word: Word): {[MARK]: Word} => ({[MARK]: word});
const aligned = (at: number): number => Math.ceil(at / ALIGNED) * ALIGNED;
const wordOf = (value: number): string => (Object.is(value, -0) ? "-0" : String(value));

function nameOf(value: unknown): ArrayName | undefined {
  if (!ArrayBuffer.isView(value)) return undefined;
  const found = Object.entries(ARRAYS).find(([, kind]) => value instanceof kind)?.[0];
  if (!found) throw new Error(`${Object.prototype.toString.call(value)} cannot be packed`);
  return found as ArrayName;
}
