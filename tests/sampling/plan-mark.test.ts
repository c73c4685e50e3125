import {describe, expect, it} from "vitest";
import {planMark} from "../../src/sampling/plan-mark.ts";
import {squareMetres} from "../../src/units/quantity.ts";

const square = (x: number, y: number, side = 100) => [
  [
    [
      {x, y},
      {x: x + side, y},
      {x: x + side, y: y + side},
      {x, y: y + side},
      {x, y},
    ],
  ],
];
const unit = (id: string, x: number, y: number) => ({id, area: squareMetres(10_000), shape: square(x, y)}) as never;
const mark = (...units: never[]) => planMark({strategy: "grid", units});

describe("the mark of a plan", () => {
  const plan = mark(unit("A1", 0, 0), unit("A2", 100, 0));

  it("is seven characters without I and O, the same for the same plan", () => {
    expect(plan).toMatch(/^[0-9A-HJ-NP-Z]{7}$/);
    expect(mark(unit("A1", 0, 0), unit("A2", 100, 0))).toBe(plan);
  });

  it("does not mind a hair's breadth, as another order of sums leaves it", () => {
    expect(mark(unit("A1", 1e-6, 0), unit("A2", 100, -1e-6))).toBe(plan);
  });

  it("is another when ids change places, ground moves, or the strategy differs", () => {
    const others = [
      mark(unit("A2", 0, 0), unit("A1", 100, 0)),
      mark(unit("A1", 0, 5), unit("A2", 100, 0)),
      mark(unit("A1", 0, 0)),
      planMark({strategy: "zone", units: [unit("A1", 0, 0), unit("A2", 100, 0)]}),
    ];
    expect(new Set([plan, ...others]).size).toBe(5);
  });

  it("tells ten thousand plans apart", () => {
    const marks = new Set(Array.from({length: 10_000}, (_, i) => mark(unit(`U${i}`, 0, 0))));
    expect(marks.size).toBe(10_000);
  });
});
