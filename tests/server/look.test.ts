import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {lookAt} from "../../src/server/look.ts";

beforeAll(loadGeos);

const look = (name: string, text: string) => lookAt(new Map([[name, new TextEncoder().encode(text)]]), name, "0");

describe("what is seen in a lab report before it counts", () => {
  const report = (depths: readonly string[], heading = "Depth (in)") =>
    look(
      "lab.csv",
      `Sample ID,${heading},P M3-ICP (ppm)\n${depths.map((depth, i) => `G${i + 1},${depth},30`).join("\n")}\n`,
    );

  it("is its depth, where one column holds one with its unit", async () => {
    const {proposed, questions} = await report(["8", "8", "8"]);
    expect(proposed.lab).toMatchObject({depth: "8 in"});
    expect(questions).toEqual([]);
    expect((await report(["0-20 cm", "0-20 cm"], "Depth")).proposed.lab).toMatchObject({depth: "20 cm"});
  });

  it("is no depth where they differ, name no unit or are nought: then it is asked", async () => {
    for (const card of [await report(["6", "8"]), await report(["8", "8"], "Depth"), await report(["0", "0"])]) {
      expect(card.proposed.lab).not.toHaveProperty("depth");
      expect(card.questions?.map(({about}) => about)).toEqual(["depth"]);
    }
  });

  it("is every sample id, once", async () => {
    expect((await look("lab.csv", "Sample ID,pH\nG1,6\nG2,6\nG1,7\n,6\n")).ids).toEqual({
      column: "Sample ID",
      of: ["G1", "G2"],
    });
  });
});

describe("where a file lies", () => {
  it("is some positions of a log from all over it, without those of no reception", async () => {
    const rows = Array.from({length: 900}, (_, i) => (i === 0 ? "0,0,5" : `${-86 + i / 1e4},40.5,5`));
    const {positions = []} = await look("log.csv", `Longitude,Latitude,Flow (lb/s)\n${rows.join("\n")}\n`);
    expect(positions).toHaveLength(299);
    expect(positions.at(-1)?.[0]).toBeCloseTo(-86 + 897 / 1e4, 9);
  });

  it("is not told of metres", async () => {
    const card = await look("log.csv", "Longitude,Latitude,Flow (lb/s)\n550000,4480000,5\n550001,4480001,5\n");
    expect(card.positions).toBeUndefined();
  });

  it("is the box of shapes, and their names of field and farm", async () => {
    const ring = "[[[-86,40],[-85.99,40],[-85.99,40.01],[-86,40]]]";
    const shape = (field: string) =>
      `{"type":"Feature","properties":{"Farm_Name":"Low Farm","field":"${field}"},"geometry":{"type":"Polygon","coordinates":${ring}}}`;
    const of = (...fields: string[]) =>
      look("b.geojson", `{"type":"FeatureCollection","features":[${fields.map(shape).join(",")}]}`);
    expect(await of("Long Acre")).toMatchObject({
      box: [-86, 40, -85.99, 40.01],
      named: {field: "Long Acre", farm: "Low Farm"},
    });
    // Of two fields neither is the name of the new one.
    expect((await of("Long Acre", "Short Acre")).named).toEqual({farm: "Low Farm"});
  });
});
