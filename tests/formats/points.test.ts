import {describe, expect, it} from "vitest";
import {type PointColumn, type PointMapping, readPoints} from "../../src/formats/read-points.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {crsFromText} from "../../src/geo/crs.ts";
import {bytes} from "./build-files.ts";

const points = (text: string, mapping: Partial<PointMapping> = {}) =>
  readPoints(readTable(bytes(text), "log.csv").value, {x: "lon", y: "lat", columns: {}, ...mapping});
const one = (heading: string, cell: string, column: Omit<PointColumn, "column">, more: Partial<PointMapping> = {}) =>
  points(`lon;lat;${heading}\n-86.4;40.55;${cell}\n`, {columns: {it: {column: heading, ...column}}, ...more}).value
    .numbers.it?.[0];
const refusal = (work: () => unknown): {code: string; message: string; hint: string} => {
  try {
    work();
  } catch (error) {
    expect((error as Error).name).toBe("FieldError");
    return error as {code: string; message: string; hint: string};
  }
  throw new Error("nothing was refused");
};

describe("points of a table", () => {
  it("come in file order, one for each row, in longitude and latitude", () => {
    const {value, issues} = points("lat,lon,id\n40.55,-86.4,A1\n40.56,-86.41, A2 \n", {
      columns: {id: {column: "id", as: "text"}},
    });
    expect([...value.lon]).toEqual([-86.4, -86.41]);
    expect([...value.lat]).toEqual([40.55, 40.56]);
    expect(value.texts.id).toEqual(["A1", "A2"]);
    expect(issues).toEqual([]);
  });

  it("come from other coordinate systems", async () => {
    // PROJ 9.1.1: EPSG:26916 of -86.4, 40.55.
    const {value} = points("e,n\n550802.6946,4488977.6823\n", {x: "e", y: "n", crs: await crsFromText("EPSG:26916")});
    expect(value.lon[0]).toBeCloseTo(-86.4, 8);
    expect(value.lat[0]).toBeCloseTo(40.55, 8);
    const local = points("e,n\n0,0\n", {x: "e", y: "n", crs: await crsFromText("local metres at -86.4, 40.55")});
    expect(local.value.lon[0]).toBeCloseTo(-86.4, 10);
  });

  it("keep their place when a position is lost, and say which rows", () => {
    const {value, issues} = points(
      "lon,lat,flow\ndeg,deg,lb/s\n-86.4,40.55,1\n,,2\n0,0,3\n-86.4,240.55,4\n,,\n-86.4,40.56,5\n-86.4,40.57,6\n",
      {columns: {flow: {column: "flow", as: "mass flow", unit: "kg/s"}}},
    );
    expect([...value.lat]).toEqual([Number.NaN, 40.55, Number.NaN, Number.NaN, Number.NaN, Number.NaN, 40.56, 40.57]);
    expect([...(value.numbers.flow as Float64Array)]).toEqual([Number.NaN, 1, 2, 3, 4, Number.NaN, 5, 6]);
    expect(issues.map(({code, message}) => `${code} ${message.replace(/^.*: /, "")}`)).toEqual([
      "points/no-position 2 rows (2 and 4).",
      "points/at-zero row 5.",
      "points/impossible-position row 6.",
      "points/not-a-number row 2.",
    ]);
  });

  it("know missing from unreadable", () => {
    const cells = ["", " ", "NA", "n/a", "null", "-", ".", "3", "err", "1,5", "12abc"];
    const {value, issues} = points(`lon,lat,P\n${cells.map((cell) => `-86.4,40.55,"${cell}"`).join("\n")}\n`, {
      columns: {p: {column: "P", as: "number"}},
    });
    expect([...(value.numbers.p as Float64Array)].filter((v) => !Number.isNaN(v))).toEqual([3]);
    expect(issues).toHaveLength(1);
    expect(issues[0]).toMatchObject({code: "points/not-a-number", place: {row: 10, column: "P"}});
    expect(issues[0]?.message).toBe(
      'Left column "P" empty where it is not a number, as "err": 3 rows (10, 11 and 12).',
    );
  });

  it("are read with decimal commas when the cells say so", () => {
    const {value} = points("lon;lat;P\n-86,4;40,55;1,25\n-86,41;40,56;12\n", {
      columns: {p: {column: "P", as: "number"}},
    });
    expect([...value.lon, ...(value.numbers.p as Float64Array)]).toEqual([-86.4, -86.41, 1.25, 12]);
  });
});

describe("columns of a table", () => {
  // By hand from the definitions: 1 lb = 0.45359237 kg, 1 ft = 0.3048 m, 1 mile = 1609.344 m, 1 ac = 4046.8564224 m².
  it.each<[string, PointColumn["as"], string, number]>([
    ["12", "mass flow", "lb/s", 12 * 0.45359237],
    ["12", "mass flow", "kg/s", 12],
    ["36", "mass flow", "t/h", 10],
    ["360", "length", "in", 9.144],
    ["30", "length", "ft", 9.144],
    ["3937", "length", "us-ft", 1200],
    ["250", "length", "cm", 2.5],
    ["5", "speed", "mph", 2.2352],
    ["18", "speed", "km/h", 5],
    ["10", "speed", "ft/s", 3.048],
    ["15.5", "percent", "%", 15.5],
    ["0.155", "percent", "fraction", 15.5],
    ["1", "yield", "t/ha", 1],
    ["2376", "yield", "lb/ac", (2376 * 0.45359237) / 0.40468564224 / 1000],
    ["1500", "yield", "kg/ha", 1.5],
    ["1500", "time", "ms", 1.5],
    ["2", "time", "min", 120],
    ["90", "angle", "deg", 90],
  ])("%s of %s in %s", (cell, as, unit, value) => expect(one("v", cell, {as, unit})).toBeCloseTo(value, 12));

  it("hold bushels of a stated weight only", () => {
    // 42.4286 bu/ac of 56 lb are the 2,376 lb/ac above.
    const lbPerAcre = (2376 * 0.45359237) / 0.40468564224 / 1000;
    expect(one("y", String(2376 / 56), {as: "yield", unit: "bu/ac"}, {poundsPerBushel: 56})).toBeCloseTo(lbPerAcre, 12);
    expect(refusal(() => one("y", "42", {as: "yield", unit: "bu/ac"})).code).toBe("points/no-bushel");
  });

  it("take the unit from the heading, the user's first, and are refused without one", () => {
    expect(one("Flow (lb/s)", "12", {as: "mass flow"})).toBeCloseTo(5.44310844, 8);
    expect(one("Flow [kg/s]", "12", {as: "mass flow"})).toBe(12);
    expect(one("Flow (lb/s)", "12", {as: "mass flow", unit: "kg/s"})).toBe(12);
    expect(refusal(() => one("Flow", "12", {as: "mass flow"}))).toMatchObject({
      code: "points/no-unit",
      message: 'Column "Flow" of log.csv has no unit for a mass flow.',
    });
    const unknown = refusal(() => one("Flow", "12", {as: "mass flow", unit: "ft"}));
    expect(unknown.code).toBe("points/unknown-unit");
    expect(unknown.hint).toContain("lb/s");
    expect(refusal(() => one("x", "1", {as: "length", unit: "constructor"})).code).toBe("points/unknown-unit");
  });

  it("hold clock times when they are written as such", () => {
    // 2026-05-01 is day 20,574 since 1970: 56 years of 365 days, 14 leap days, 120 days of 2026.
    const day = (56 * 365 + 14 + 120) * 86_400;
    expect(one("t", "2026-05-01 13:30:05", {as: "time"})).toBe(day + 48_605);
    expect(one("t", "2026/05/01", {as: "time"})).toBe(day);
    expect(one("t", "2026-05-01T13:30:05.25Z", {as: "time"})).toBe(day + 48_605.25);
    expect(one("t", "2026-05-01T13:30:05-05:00", {as: "time"})).toBe(day + 48_605 + 18_000);
    expect(one("t", "13:30:05", {as: "time"})).toBe(48_605);
    expect(one("t", "5/1/2026 1:30:05 PM", {as: "time", unit: "m/d/y"})).toBe(day + 48_605);
    expect(one("t", "1.5.2026 00:00", {as: "time", unit: "d/m/y"})).toBe(day);
    expect(one("t", "12:00:00 AM", {as: "time", unit: "h:m:s"})).toBe(0);
    // Which is the month? Not for us to guess.
    expect(refusal(() => one("t", "5/1/2026", {as: "time"})).code).toBe("points/no-unit");
    for (const wrong of ["2026-02-30", "2026-13-01", "2026-05-01 25:00:00", "x"]) {
      expect(one("t", wrong, {as: "time", unit: "y-m-d"})).toBeNaN();
    }
  });

  it("are found as written, or but for case and punctuation, or not at all", () => {
    const find = (column: string) =>
      points("lon,lat,Mass Flow (lb/s),P ppm,p_ppm\n-86.4,40.55,1,2,3\n", {columns: {it: {column, as: "number"}}}).value
        .numbers.it?.[0];
    expect(find("Mass Flow (lb/s)")).toBe(1);
    expect(find("mass_flow_lb_s")).toBe(1);
    expect(find("P ppm")).toBe(2);
    expect(refusal(() => find("nitrate")).code).toBe("points/no-column");
    expect(refusal(() => find("P-PPM")).code).toBe("points/which-column");
    expect(refusal(() => find("mass flw (lb/s)")).hint).toBe('Did you mean "Mass Flow (lb/s)"?');
  });
});

describe("a table of points is refused", () => {
  it("when longitude and latitude are swapped", () => {
    for (const lon of ["-93.1", "-86.4"]) {
      expect(refusal(() => points(`lat,lon\n${lon},40.55\n${lon},40.56\n`)).code).toBe("crs/swapped");
    }
  });

  it("when its degrees are projected", () => {
    const error = refusal(() => points("lon,lat\n465120,4651200\n465130,4651200\n"));
    expect(error.code).toBe("crs/not-degrees");
    expect(error.message).toContain("4,651,200");
  });

  it("when its coordinates are nowhere in the coordinate system named", async () => {
    const crs = await crsFromText("EPSG:26916");
    expect(refusal(() => points("e,n\n1e9,1e9\n", {x: "e", y: "n", crs})).code).toBe("crs/outside");
    expect(refusal(() => points("e,n\n-86.4,40.55\n", {x: "e", y: "n", crs})).code).toBe("crs/not-projected");
  });

  it("when no row has a position", () => {
    expect(refusal(() => points("lon,lat\nx,y\n,\n")).code).toBe("points/no-positions");
  });
});

describe("a log of 200,000 rows and 8 columns", () => {
  it("is read and converted in well under three seconds", () => {
    const lines = ["lon,lat,flow,distance,swath,moisture,speed,time"];
    for (let i = 0; i < 200_000; i++) {
      lines.push(`${(-86 - i * 1e-6).toFixed(7)},40.55,${(i % 70) / 4},${i % 5},30,15.5,2.25,${i}`);
    }
    const data = bytes(lines.join("\n"));
    const started = performance.now();
    const {value} = readPoints(readTable(data, "log.csv").value, {
      x: "lon",
      y: "lat",
      columns: {
        flow: {column: "flow", as: "mass flow", unit: "lb/s"},
        distance: {column: "distance", as: "length", unit: "ft"},
        swath: {column: "swath", as: "length", unit: "ft"},
        moisture: {column: "moisture", as: "percent", unit: "%"},
        speed: {column: "speed", as: "speed", unit: "mph"},
        time: {column: "time", as: "time", unit: "s"},
      },
    });
    expect(value.numbers.time?.[199_999]).toBe(199_999);
    // About 0.3 s on two quiet cores; the bound only catches a change of order.
    expect(performance.now() - started).toBeLessThan(3000);
  });
});
