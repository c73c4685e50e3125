/** What the first bytes of a file are sure signs of. */
const starts = (bytes: Uint8Array, ...signature: number[]): boolean => signature.every((byte, i) => bytes[i] === byte);

/** A zip, whatever its name: `PK` and a local file, or an empty one. */
export function isZip(bytes: Uint8Array): boolean {
  return starts(bytes, 0x50, 0x4b, 0x03, 0x04) || starts(bytes, 0x50, 0x4b, 0x05, 0x06);
}

/** TIFF in either byte order, classic or big. */
export function isTiff(bytes: Uint8Array): boolean {
  return (
    starts(bytes, 0x49, 0x49, 0x2a, 0) ||
    starts(bytes, 0x4d, 0x4d, 0, 0x2a) ||
    starts(bytes, 0x49, 0x49, 0x2b, 0) ||
    starts(bytes, 0x4d, 0x4d, 0, 0x2b)
  );
}

export function isShp(bytes: Uint8Array): boolean {
  return starts(bytes, 0, 0, 0x27, 0x0a);
}
