import {ckmeans} from "simple-statistics";
import {describe, expect, it} from "vitest";
import {optimalClasses} from "../../src/stats/optimal-classes.ts";
import {seededRandom} from "../../src/stats/random.ts";

const alike = (count: number): number[] => Array.from({length: count}, () => 1);

describe("the best split of numbers into classes", () => {
  it("by hand: 1, 2, 9, 10 into two", () => {
    expect(optimalClasses([10, 1, 9, 2], alike(4), 2)).toEqual([1, 0, 1, 0]);
  });

  it("follows the weights: a heavy number in the middle takes its lighter neighbour", () => {
    // 0 | 4 9 costs 25/2 with equal weights, 0 4 | 9 costs 8; with 4 weighing 100 against 9 and 1 for 0, joining 0 costs
    // 100/101 × 16 = 15.8 and joining 9 with weight 0.1 costs 0.1 × 100/100.1 × 25 = 2.5.
    expect(optimalClasses([0, 4, 9], alike(3), 2)).toEqual([0, 0, 1]);
    expect(optimalClasses([0, 4, 9], [1, 100, 0.1], 2)).toEqual([0, 1, 1]);
  });

  it("gives each number its own class when there are no more numbers than classes", () => {
    expect(optimalClasses([5, 3, 5], alike(3), 4)).toEqual([1, 0, 1]);
  });

  it("is as good as ckmeans of simple-statistics with equal weights, on 300 random lists", () => {
    const random = seededRandom(1, "classes");
    for (let list = 0; list < 300; list++) {
      const values = Array.from({length: 3 + random.integer(60)}, () => Math.round(300 * random.next()));
      const distinct = new Set(values).size;
      const most = 1 + random.integer(Math.min(8, distinct));
      const own = optimalClasses(values, alike(values.length), most);
      const groups = [...new Set(own)].map((c) => values.filter((_, i) => own[i] === c));
      // Two splits can be equally good; their squares cannot differ.
      expect(squares(groups)).toBeCloseTo(squares(ckmeans(values, most)), 6);
    }
  });
});

function squares(groups: readonly (readonly number[])[]): number {
  return groups.reduce((sum, group) => {
    const mean = group.reduce((a, b) => a + b, 0) / group.length;
    return sum + group.reduce((a, b) => a + (b - mean) ** 2, 0);
  }, 0);
}
