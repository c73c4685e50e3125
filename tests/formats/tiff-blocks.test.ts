import {deflateSync} from "node:zlib";
import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {unpackDeflate, unpackLzw, unpackPackBits} from "../../src/formats/tiff-blocks.ts";

/** Codes of given widths, high bits first. */
function pack(codes: readonly (readonly [code: number, width: number])[]): Uint8Array {
  const bits = codes.map(([code, width]) => code.toString(2).padStart(width, "0")).join("");
  return Uint8Array.from(bits.match(/.{1,8}/g) ?? [], (byte) => Number.parseInt(byte.padEnd(8, "0"), 2));
}

/** LZW as a writer makes it, by the words of TIFF 6.0, section 13. */
function lzw(data: Uint8Array): Uint8Array {
  const codes: [number, number][] = [];
  let table = new Map<string, number>();
  let next = 258;
  let width = 9;
  const emit = (code: number): void => {
    codes.push([code, width]);
  };
  const clear = (): void => {
    emit(256);
    table = new Map();
    next = 258;
    width = 9;
  };
  const codeOf = (text: string): number | undefined => (text.length === 1 ? text.charCodeAt(0) : table.get(text));
  clear();
  let omega = "";
  for (const byte of data) {
    const k = String.fromCharCode(byte);
    if (codeOf(omega + k) !== undefined) {
      omega += k;
      continue;
    }
    emit(codeOf(omega) as number);
    table.set(omega + k, next++);
    if (next === 512 || next === 1024 || next === 2048) width++;
    if (next === 4095) clear();
    omega = k;
  }
  if (omega !== "") {
    emit(codeOf(omega) as number);
    next++;
    if (next === 512 || next === 1024 || next === 2048) width++;
  }
  emit(257);
  return pack(codes);
}

describe("a block packed by LZW", () => {
  it("unpacks the worked example of TIFF 6.0", () => {
    // Section 13: 7 7 7 8 8 7 7 6 6 is written as 256 7 258 8 8 258 6 6 257 (from memory).
    const packed = pack([256, 7, 258, 8, 8, 258, 6, 6, 257].map((code) => [code, 9]));
    expect([...unpackLzw(packed, 9)]).toEqual([7, 7, 7, 8, 8, 7, 7, 6, 6]);
  });

  it("unpacks whatever was packed, past every change of width and a full table", () => {
    fc.assert(
      fc.property(fc.uint8Array({maxLength: 300, max: 3}), fc.integer({min: 1, max: 40}), (bytes, times) => {
        const data = Uint8Array.from({length: bytes.length * times}, (_, i) => bytes[i % bytes.length] as number);
        expect(Buffer.compare(unpackLzw(lzw(data), data.length), data)).toBe(0);
      }),
    );
    const noise = Uint8Array.from({length: 30_000}, (_, i) => ((i * 2_654_435_761) >>> 13) & 255);
    expect(Buffer.compare(unpackLzw(lzw(noise), noise.length), noise)).toBe(0);
  });

  it("stops at the size of a block, and at codes that make no sense", () => {
    const packed = lzw(new Uint8Array(1000));
    expect(Buffer.compare(unpackLzw(packed, 999), new Uint8Array(999))).toBe(0);
    expect(unpackLzw(packed.subarray(0, 5), 1000).length).toBeLessThan(1000);
    expect(() =>
      unpackLzw(
        pack([
          [256, 9],
          [300, 9],
        ]),
        100,
      ),
    ).toThrow();
    expect(() =>
      unpackLzw(
        pack([
          [256, 9],
          [7, 9],
          [400, 9],
        ]),
        100,
      ),
    ).toThrow();
    fc.assert(
      fc.property(fc.uint8Array({maxLength: 2000}), (bytes) => {
        try {
          expect(unpackLzw(bytes, 10_000).length).toBeLessThanOrEqual(10_000);
        } catch (error) {
          expect((error as Error).message).toMatch(/LZW/);
        }
      }),
    );
  });
});

describe("a block packed by PackBits or Deflate", () => {
  it("unpacks the worked example of PackBits", () => {
    // Apple Technical Note TN1023, the example most descriptions use (from memory).
    const packed = [0xfe, 0xaa, 0x02, 0x80, 0x00, 0x2a, 0xfd, 0xaa, 0x03, 0x80, 0x00, 0x2a, 0x22, 0xf7, 0xaa];
    const plain = "aa aa aa 80 00 2a aa aa aa aa 80 00 2a 22 aa aa aa aa aa aa aa aa aa aa";
    expect(
      Buffer.from(unpackPackBits(Uint8Array.from(packed), 24))
        .toString("hex")
        .replace(/../g, "$& ")
        .trim(),
    ).toBe(plain);
    expect([...unpackPackBits(Uint8Array.from([128, 0, 5]), 1)]).toEqual([5]);
  });

  it("stops at the size of a block", () => {
    expect(() => unpackPackBits(Uint8Array.from([129, 1]), 10)).toThrow();
    const zeros = new Uint8Array(deflateSync(new Uint8Array(5_000_000)));
    expect(unpackDeflate(zeros, 5_000_000)).toHaveLength(5_000_000);
    expect(() => unpackDeflate(zeros, 4_999_999)).toThrow();
    expect(() => unpackDeflate(zeros.subarray(2), 5_000_000)).toThrow();
  });
});
