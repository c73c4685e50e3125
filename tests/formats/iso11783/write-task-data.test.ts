import {describe, expect, it} from "vitest";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {writeTaskData} from "../../../src/formats/iso11783/write-task-data.ts";
import {box, field, grid, hex, lb, map, options, planOf, twoZones, water, written, zone} from "./plans.ts";

describe("zones as task data", () => {
  it("set 22417 mg/m2 for 200 lb/ac, and show it in lb/ac", () => {
    const {xml} = written(twoZones());
    expect(xml).toContain('<TZN A="1" B="Low P">');
    expect(xml).toContain('<PDV A="0006" B="22417" C="PDT1" E="VPN1"/>');
    expect(xml).toContain('<VPN A="VPN1" B="0" C="0.00892179122" D="1" E="lb/ac"/>');
  });

  it("give north before east, with nine decimals, and close every ring", () => {
    const {xml} = written(twoZones());
    const ring = xml.slice(xml.indexOf("<LSG"), xml.indexOf("</LSG>"));
    expect(ring.match(/C="[^"]*" D="[^"]*"/g)).toEqual([
      'C="42.000000000" D="-93.000000000"',
      'C="42.000000000" D="-92.990000000"',
      'C="42.010000000" D="-92.990000000"',
      'C="42.010000000" D="-93.000000000"',
      'C="42.000000000" D="-93.000000000"',
    ]);
  });

  it("state the field's area on the ellipsoid in square metres", () => {
    // 920,179.4 m2 by GeographicLib 2.1.2 Planimeter for this square.
    expect(written(twoZones()).xml).toContain('<PFD A="PFD1" C="North 40" D="920179" E="CTR1" F="FRM1">');
  });

  it("hold a rate for every product in every zone, the special ones included", () => {
    const plan = {
      ...planOf([map, water], {zones: [zone("A", [lb(100), 150], box(-93, 42, -92.99, 42.01))]}),
      defaultRates: [lb(50), 1],
      positionLostRates: [lb(20), 2],
      outOfFieldRates: [0, 0],
    };
    const {value, issues} = readTaskData(written(plan).files);
    const task = value.tasks[0];
    expect(issues).toEqual([]);
    const rates = (code: number | undefined) =>
      task?.zones
        .find((z) => z.code === code)
        ?.values.map(({ddi, value: rate, unit, product}) => [ddi, rate, unit, product]);
    expect(rates(task?.defaultZone)).toEqual([
      [6, 56.04, "kg/ha", "MAP 11-52-0"],
      [1, 1, "L/ha", "Starter"],
    ]);
    expect(rates(task?.positionLostZone)).toEqual([
      [6, 22.42, "kg/ha", "MAP 11-52-0"],
      [1, 2, "L/ha", "Starter"],
    ]);
    expect(rates(task?.outOfFieldZone)).toEqual([
      [6, 0, "kg/ha", "MAP 11-52-0"],
      [1, 0, "L/ha", "Starter"],
    ]);
    expect(rates(1)).toEqual([
      [6, 112.09, "kg/ha", "MAP 11-52-0"],
      [1, 150, "L/ha", "Starter"],
    ]);
  });

  it("keep holes and make each part a zone of its own", () => {
    const withHole = [...box(-93, 42, -92.99, 42.01), box(-92.997, 42.003, -92.993, 42.007)[0]?.toReversed() ?? []];
    const plan = planOf([map], {zones: [zone("Split", [lb(80)], withHole, box(-92.98, 42, -92.97, 42.01))]});
    const zones = readTaskData(written(plan).files).value.tasks[0]?.zones ?? [];
    expect(zones.slice(3).map((z) => [z.code, z.name, z.shape])).toEqual([
      [1, "Split", [withHole]],
      [2, "Split 2", [box(-92.98, 42, -92.97, 42.01)]],
    ]);
  });

  it("name files in capitals and leave out customer and farm when there are none", () => {
    const files = writeTaskData({name: "F", boundary: field.boundary}, [twoZones()], options).value;
    expect([...files.keys()]).toEqual(["TASKDATA/TASKDATA.XML"]);
    const text = new TextDecoder().decode(files.get("TASKDATA/TASKDATA.XML"));
    expect(text).not.toMatch(/CTR|FRM/);
    expect(checkTaskData(files)).toEqual([]);
  });

  it("come as edition 3.3 for older terminals", () => {
    const files = writeTaskData(field, [twoZones()], {...options, version: 3}).value;
    expect(readTaskData(files).value.version).toBe("3.3");
    expect(checkTaskData(files)).toEqual([]);
  });

  it("are the same bytes every time, without a byte order mark", () => {
    const once = written(twoZones());
    expect(hex(once.files.get("TASKDATA/TASKDATA.XML"))).toBe(
      hex(written(twoZones()).files.get("TASKDATA/TASKDATA.XML")),
    );
    expect(
      once.xml.startsWith(
        '<?xml version="1.0" encoding="UTF-8"?>\n<ISO11783_TaskData VersionMajor="4" VersionMinor="3"',
      ),
    ).toBe(true);
  });

  it("shorten long names, keep them apart, and say so", () => {
    const long = "Zone with a name that no terminal can show";
    const plan = planOf([map], {
      zones: [zone(long, [1], box(-93, 42, -92.995, 42.01)), zone(`${long} 2`, [2], box(-92.995, 42, -92.99, 42.01))],
    });
    const {value, issues} = writeTaskData(field, [plan], options);
    expect(
      readTaskData(value)
        .value.tasks[0]?.zones.slice(3)
        .map((z) => z.name),
    ).toEqual(["Zone with a name that no termina", "Zone with a name that no termi 2"]);
    expect(issues.map((issue) => issue.code)).toEqual(["iso11783/name-changed"]);
    expect(checkTaskData(value)).toEqual([]);
  });

  it("escape what XML reserves, once", () => {
    const {xml, files} = written({...twoZones(), name: 'P & K <"spring">'});
    expect(xml).toContain('B="P &amp; K &lt;&quot;spring&quot;&gt;"');
    expect(readTaskData(files).value.tasks[0]?.name).toBe('P & K <"spring">');
  });

  it("share products and presentations between tasks", () => {
    const {xml, files} = written(
      twoZones(),
      {...twoZones(), name: "Again"},
      planOf([{...map, name: "Potash"}], twoZones().map),
    );
    expect(xml.match(/<PDT /g)).toHaveLength(2);
    expect(xml.match(/<VPN /g)).toHaveLength(1);
    expect(readTaskData(files).value.tasks.map((task) => task.name)).toEqual(["Broadcast", "Again", "Broadcast 2"]);
    expect(checkTaskData(files)).toEqual([]);
  });
});

describe("zones that cannot be written", () => {
  const strip = (i: number) => box(-93 + i * 1e-5, 42, -93 + (i + 1) * 1e-5, 42.01);
  const manyZones = (count: number) =>
    planOf([map], {zones: Array.from({length: count}, (_, i) => zone(`Z${i}`, [i], strip(i)))});

  it("takes 252 polygons, the most there are codes for", () => {
    const {files} = written(manyZones(252));
    expect(checkTaskData(files)).toEqual([]);
    expect(readTaskData(files).value.tasks[0]?.zones).toHaveLength(255);
  });

  it("refuses 253 and says what to do", () => {
    expect(() => written(manyZones(253))).toThrow(
      expect.objectContaining({
        code: "iso11783/too-many-zones",
        message: "Broadcast has 253 polygons; ISO 11783-10 has codes for 252 of them in a task.",
        hint: expect.stringContaining("grid of type 2"),
      }),
    );
  });

  it.each([
    ["an open ring", [[...(box(-93, 42, -92, 43)[0] ?? []).slice(0, 4)]]],
    ["a ring of two corners", [[[-93, 42] as const, [-92, 42] as const, [-93, 42] as const]]],
    ["a latitude of 95", box(-93, 42, -92, 95)],
    ["a coordinate that is no number", box(Number.NaN, 42, -92, 43)],
    ["no ring", []],
  ])("refuses %s", (_, polygon) => {
    const plan = planOf([map], {zones: [zone("Z", [1], polygon)]});
    expect(() => written(plan)).toThrow(expect.objectContaining({code: "iso11783/bad-polygon"}));
  });

  it("refuses a map without zones and a field without tasks", () => {
    expect(() => written(planOf([map], {zones: []}))).toThrow(expect.objectContaining({code: "iso11783/empty"}));
    expect(() => written()).toThrow(expect.objectContaining({code: "iso11783/empty"}));
  });

  it("names the zone with a bad rate", () => {
    const plan = planOf([map], {zones: [zone("Knoll", [-5], box(-93, 42, -92.99, 42.01))]});
    expect(() => written(plan)).toThrow("Knoll has a rate of -5 kg/ha.");
  });
});

describe("grids as task data", () => {
  it("of type 2 hold each cell's rate from the south-west corner on, low byte first", () => {
    // South row 200, 200, 150 lb/ac; north row 150, 0, 100: a worked example validated against the published schema.
    const {files, xml} = written(planOf([map], {grid: grid(2, [150, 0, 100], [200, 200, 150])}));
    expect(hex(files.get("TASKDATA/GRD00001.BIN"))).toBe(
      "91 57 00 00 91 57 00 00 ad 41 00 00 ad 41 00 00 00 00 00 00 c9 2b 00 00",
    );
    expect(xml).toContain(
      '<GRD A="42.000000000" B="-93.000000000" C="0.0001" D="0.00012" E="3" F="2" G="GRD00001" H="24" I="2" J="1"/>',
    );
  });

  it("of type 1 hold zone codes, 253 outside the field", () => {
    // South row low low high, north row high out low, with low the first rate met.
    const {files, xml} = written(planOf([map], {grid: grid(1, [200, Number.NaN, 100], [100, 100, 200])}));
    expect(hex(files.get("TASKDATA/GRD00001.BIN"))).toBe("01 01 02 02 fd 01");
    expect(xml).toContain('H="6" I="1"/>');
    expect(xml).toContain('<TZN A="2" B="Rate 2">\n      <PDV A="0006" B="22417"');
  });

  it("of type 2 hold the rate for outside where there is no data", () => {
    const plan = {...planOf([map], {grid: grid(2, [Number.NaN, 200])}), outOfFieldRates: [lb(100)]};
    expect(hex(written(plan).files.get("TASKDATA/GRD00001.BIN"))).toBe("c9 2b 00 00 91 57 00 00");
  });

  it("of type 2 hold the products of a cell one after the other", () => {
    const one = grid(2, [200]);
    const plan = planOf([map, water], {grid: {...one, rates: [...one.rates, Float64Array.of(1)]}});
    expect(hex(written(plan).files.get("TASKDATA/GRD00001.BIN"))).toBe("91 57 00 00 10 27 00 00");
  });

  it("are numbered through, one file for each task", () => {
    const plan = planOf([map], {grid: grid(2, [1, 2])});
    const {files} = written(plan, twoZones(), plan);
    expect([...files.keys()]).toEqual(["TASKDATA/TASKDATA.XML", "TASKDATA/GRD00001.BIN", "TASKDATA/GRD00002.BIN"]);
    expect(checkTaskData(files)).toEqual([]);
  });

  it("of type 1 take 252 rates and refuse 253", () => {
    const rates = (count: number) => Array.from({length: count}, (_, i) => i + 1);
    expect(checkTaskData(written(planOf([map], {grid: grid(1, rates(252))})).files)).toEqual([]);
    expect(() => written(planOf([map], {grid: grid(1, rates(253))}))).toThrow(
      expect.objectContaining({code: "iso11783/too-many-rates", hint: expect.stringContaining("type 2")}),
    );
  });

  it("are refused above a million cells and off the earth", () => {
    const huge = {...grid(2, [1]), cols: 1001, rows: 1000, cellWidth: 1e-5, cellHeight: 1e-5};
    expect(() => written(planOf([map], {grid: huge}))).toThrow(
      expect.objectContaining({code: "iso11783/too-many-cells"}),
    );
    expect(() => written(planOf([map], {grid: {...grid(2, [1]), north: 91}}))).toThrow(
      expect.objectContaining({code: "iso11783/bad-grid"}),
    );
    expect(() => written(planOf([map], {grid: {...grid(2, [1]), cols: 0}}))).toThrow(
      expect.objectContaining({code: "iso11783/bad-grid"}),
    );
  });

  it("with cells too small to spread are written with a warning", () => {
    const small = {...grid(2, [1]), cellHeight: 0.00002};
    const {issues} = writeTaskData(field, [planOf([map], {grid: small})], options);
    expect(issues.map(({code, severity}) => [code, severity])).toEqual([["iso11783/small-cells", "warning"]]);
  });
});
