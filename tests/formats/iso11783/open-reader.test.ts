import {
  type ExtendedGrid,
  type ExtendedPartfield,
  ExtendedPolygon,
  type ExtendedTask,
  ISOXMLManager,
  type Product,
  type ValuePresentation,
} from "isoxml";
import {beforeAll, describe, expect, it} from "vitest";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {writeTaskData} from "../../../src/formats/iso11783/write-task-data.ts";
import {unzip, zip} from "../../../src/formats/zip.ts";
import {box, field, grid, lb, map, options, planOf, twoZones, water, zone} from "./plans.ts";

// An independent open reader of the format (isoxml 1.11.2) reads our zips. It is used as it can be: numbers straight from
// its entities, since its own conversions to GeoJSON leave out zero cells and grids of type 1.

const hole = box(-92.997, 42.003, -92.993, 42.007)[0]?.toReversed() ?? [];
const plans = [
  {...twoZones(), name: "Zones"},
  {
    ...planOf([map, water], {zones: [zone("Ring", [lb(120), 93.5], [...box(-93, 42, -92.99, 42.01), hole])]}),
    name: 'Two & "more"',
    defaultRates: [lb(10), 1],
  },
  {...planOf([map], {grid: grid(1, [200, Number.NaN, 100], [100, 100, 200])}), name: "Type 1"},
  {...planOf([map], {grid: grid(2, [150, 0, 100], [200, 200, 150])}), name: "Type 2"},
];

describe.each([3, 4] as const)("our edition %i as another open reader reads it", (version) => {
  const manager = new ISOXMLManager();
  let tasks: ExtendedTask[];
  const files = writeTaskData({...field, boundary: [[...box(-93, 42, -92.99, 42.01), hole]]}, plans, {
    ...options,
    version,
  }).value;

  beforeAll(async () => {
    await manager.parseISOXMLFile(zip(files), "application/zip");
    tasks = manager.rootElement.attributes.Task as ExtendedTask[];
  });

  it("needs no repair but for the case of file names, which it wants small against the standard's capitals", () => {
    expect(manager.getWarnings().filter((warning) => !warning.startsWith("Letter case of filename"))).toEqual([]);
    expect(manager.options.version).toBe(version);
  });

  it("has the same field, names and products", () => {
    const part = manager.rootElement.attributes.Partfield?.[0] as ExtendedPartfield;
    expect(part.attributes).toMatchObject({PartfieldDesignator: "North 40", PartfieldArea: 772951});
    expect(ExtendedPolygon.toGeoJSON(part.attributes.PolygonnonTreatmentZoneonly as ExtendedPolygon[])).toMatchObject({
      coordinates: [[...box(-93, 42, -92.99, 42.01), hole]],
    });
    expect(tasks.map((task) => task.attributes.TaskDesignator)).toEqual(["Zones", 'Two & "more"', "Type 1", "Type 2"]);
    expect((manager.rootElement.attributes.Product as Product[]).map((p) => p.attributes.ProductDesignator)).toEqual([
      "MAP 11-52-0",
      "Starter",
    ]);
  });

  it("has the same polygons and rates in every zone", () => {
    for (const [i, task] of readTaskData(files).value.tasks.entries()) {
      const theirs = tasks[i]?.attributes.TreatmentZone ?? [];
      expect(theirs).toHaveLength(task.zones.length);
      task.zones.forEach((ours, z) => {
        const {attributes} = theirs[z] as (typeof theirs)[number];
        expect(attributes.TreatmentZoneCode).toBe(ours.code);
        expect(attributes.TreatmentZoneDesignator).toBe(ours.name);
        expect(
          attributes.ProcessDataVariable?.map((v) => [
            Number.parseInt(v.attributes.ProcessDataDDI, 16),
            v.attributes.ProcessDataValue,
          ]),
        ).toEqual(ours.values.map(({ddi, raw}) => [ddi, raw]));
        const polygons = attributes.PolygonTreatmentZoneonly as ExtendedPolygon[] | undefined;
        expect(polygons?.length ?? 0).toBe(ours.shape.length);
        if (polygons) expect(ExtendedPolygon.toGeoJSON(polygons).coordinates).toEqual(ours.shape);
      });
    }
  });

  it("has the same special zones and presentations", () => {
    for (const task of tasks) {
      expect(task.attributes).toMatchObject({
        DefaultTreatmentZoneCode: 0,
        OutOfFieldTreatmentZoneCode: 253,
        PositionLostTreatmentZoneCode: 254,
      });
    }
    const shown = (manager.rootElement.attributes.ValuePresentation as ValuePresentation[]).map((v) => v.attributes);
    expect(shown).toMatchObject([
      {Offset: 0, Scale: 0.00892179122, NumberOfDecimals: 1, UnitDesignator: "lb/ac"},
      {Offset: 0, Scale: 0.0000106906637, NumberOfDecimals: 2, UnitDesignator: "gal/ac"},
    ]);
  });

  it("has the same cells in grids of both types", () => {
    const [one, two] = [2, 3].map((i) => tasks[i]?.attributes.Grid?.[0] as ExtendedGrid);
    expect([...(one?.binaryData ?? [])]).toEqual([1, 1, 2, 2, 253, 1]);
    expect(one?.getAllReferencedTZNCodes().toSorted((a, b) => a - b)).toEqual([1, 2, 253]);
    const cells: [number[], number][] | undefined = two
      ?.toGeoJSON(["rate"])
      .features.map((f: {geometry: {coordinates: number[][][]}; properties: {rate: number}}) => [
        f.geometry.coordinates[0]?.[0] ?? [],
        f.properties.rate,
      ]);
    // South row first; the cell of rate 0 in the middle of the north row is left out by that reader.
    expect(cells?.map(([, rate]) => rate)).toEqual([22417, 22417, 16813, 16813, 11209]);
    expect(cells?.[0]?.[0]).toEqual([-93, 42]);
    expect(cells?.[3]?.[0]).toEqual([-93, 42.0001]);
  });

  it("is still sound after that reader writes it again, and says the same here", async () => {
    const again = unzip(await manager.saveISOXML(), "again.zip");
    const before = readTaskData(files).value;
    const after = readTaskData(again);
    expect(after.issues).toEqual([]);
    // That writer escapes names twice; everything else must be the same.
    const plain = (text: string) => text.replaceAll("&amp;", "&").replaceAll("&quot;", '"');
    expect(after.value.tasks.map((task) => ({...task, name: plain(task.name), zones: task.zones}))).toEqual(
      before.tasks,
    );
    expect(after.value.fields).toEqual(before.fields);
    expect(checkTaskData(files)).toEqual([]);
  });
});
