import {afterEach, describe, expect, it} from "vitest";
import {sayWay, wayTo} from "../../web/field/way-to.ts";
import {unitSystem} from "../../web/units/shown.ts";

const HERE = {lon: -86.4, lat: 40.55};

describe("the way to a core", () => {
  afterEach(() => {
    unitSystem.value = "us";
  });

  it("counts a thousandth of a degree north as 111.2 m", () => {
    // π / 180 × 0.001 × 6 371 008.8 m = 111.195 m.
    const way = wayTo(HERE, {...HERE, lat: 40.551});
    expect(way.metres).toBeCloseTo(111.195, 2);
    expect(way.degrees).toBeCloseTo(0, 6);
  });

  it("shrinks a degree of longitude by the cosine of the latitude", () => {
    // 111.195 m × cos 60° = 55.597 m; over so short a way the bend of the parallel is nothing.
    const way = wayTo({lon: 10, lat: 60}, {lon: 9.999, lat: 60});
    expect(way.metres).toBeCloseTo(55.597, 2);
    expect(way.degrees).toBeCloseTo(270, 2);
  });

  it("knows the quarter of the globe and no way at all", () => {
    expect(wayTo({lon: 0, lat: 0}, {lon: 90, lat: 0})).toEqual({metres: expect.closeTo(10_007_557, 0), degrees: 90});
    expect(wayTo(HERE, HERE)).toEqual({metres: 0, degrees: 0});
  });

  it("says it by eight points of the compass, in feet or metres", () => {
    expect(sayWay({metres: 70.1, degrees: 45})).toBe("230 ft north-east");
    expect(sayWay({metres: 70.1, degrees: 22.4})).toBe("230 ft north");
    expect(sayWay({metres: 70.1, degrees: 338})).toBe("230 ft north");
    expect(sayWay({metres: 70.1, degrees: 202.6})).toBe("230 ft south-west");
    expect(sayWay({metres: 4023.36, degrees: 270})).toBe("2.5 mi west");
    unitSystem.value = "metric";
    expect(sayWay({metres: 70.1, degrees: 45})).toBe("70 m north-east");
    expect(sayWay({metres: 4023.36, degrees: 270})).toBe("4.0 km west");
  });
});
