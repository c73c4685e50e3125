import {expect, it} from "vitest";
import {drawBlocks} from "../../src/stats/block-bootstrap.ts";
import {seededRandom} from "../../src/stats/random.ts";

it("blocks are drawn whole, as many as the sample needs, empty ones never", () => {
  const blocks = [Int32Array.of(0, 1, 2), Int32Array.of(), Int32Array.of(3, 4), Int32Array.of(5)];
  const drawn = [...drawBlocks(blocks, seededRandom(3, "blocks"))];
  expect(drawn.length).toBeGreaterThanOrEqual(6);
  const text = drawn.join("");
  expect(text).toMatch(/^(012|34|5)+$/);
  expect(drawn).toEqual([...drawBlocks(blocks, seededRandom(3, "blocks"))]);
});

it("every block is drawn equally often", () => {
  const random = seededRandom(4, "often");
  const counts = [0, 0, 0];
  for (let i = 0; i < 3000; i++) {
    for (const k of drawBlocks([Int32Array.of(0), Int32Array.of(1), Int32Array.of(2)], random))
      counts[k] = (counts[k] ?? 0) + 1;
  }
  // 3000 each of 9000; the standard deviation is 45.
  for (const count of counts) expect(Math.abs(count - 3000)).toBeLessThan(200);
});
