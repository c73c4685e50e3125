import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, ResultCard} from "../../src/server/api-types.ts";
import {type Running, withKilnForty} from "./running.ts";

type Position = readonly [number, number];
interface Collection {
  readonly features: {
    readonly id?: string;
    readonly geometry: {readonly type: string; readonly coordinates: unknown};
    readonly properties: Readonly<Record<string, unknown>>;
  }[];
}

let one: Running & {page(): Promise<FieldPage>};
let page: FieldPage;
beforeAll(async () => {
  one = await withKilnForty();
  page = await one.page();
});
afterAll(() => one.close());

/** Degrees of a metre at 40.558° N on WGS 84, by the usual series; good to a millionth. */
const [EAST_M, NORTH_M] = [1 / 84_709, 1 / 111_042];
const attach = async (name: string, geometry: object, as: string, more: object = {}): Promise<Response> => {
  const bytes = new TextEncoder().encode(JSON.stringify({type: "Feature", properties: {}, geometry}));
  const source = await one.upload(name, bytes);
  return one.tell("POST", "/api/fields/1/attach", {source: source.id, as, ...more});
};
const attached = async (...args: Parameters<typeof attach>): Promise<FieldPage> => {
  const response = await attach(...args);
  if (!response.ok) throw new Error(await response.text());
  return (await response.json()) as FieldPage;
};
const refused = async (response: Response) => {
  expect(response.status).toBe(422);
  const {error} = (await response.json()) as {error: {code: string; message: string; issues?: {place?: object}[]}};
  return error;
};
const shapes = (result: ResultCard, name: string) => one.json<Collection>(`/api/results/${result.id}/shapes/${name}`);
const keepOutsOf = ({job}: FieldPage) => (job.sampling as {keepOuts?: Record<string, unknown>[]}).keepOuts ?? [];
const coresIn = async (result: ResultCard) =>
  (await shapes(result, "plan-grid-cores")).features.map(({id, geometry, properties}) => ({
    id: id as string,
    at: geometry.coordinates as Position,
    properties,
  }));

describe("keep-outs and setbacks drawn by hand", () => {
  it("are one more in the list, and their ground is served with its distance around it", async () => {
    const before = await one.run("1", {upTo: "plan"});
    expect(before.shapes).not.toContain("keep-outs");
    expect(before.moves).toEqual([]);
    // A square of 60 m, and 10 m all round it: 60² + 4 · 60 · 10 + π · 10² m².
    const [west, south] = [-86.388, 40.558];
    const corners = [
      [0, 0],
      [60, 0],
      [60, 60],
      [0, 60],
      [0, 0],
    ].map(([x = 0, y = 0]) => [west + x * EAST_M, south + y * NORTH_M]);
    page = await attached("old yard.geojson", {type: "Polygon", coordinates: [corners]}, "keep-out", {
      settings: {name: "old yard", kind: "old farmstead", distance: "10 m"},
    });
    expect(keepOutsOf(page)).toEqual([
      {file: "old yard.geojson", name: "old yard", kind: "old farmstead", distance: "10 m"},
    ]);
    const result = await one.run("1", {upTo: "plan"});
    const {features} = await shapes(result, "keep-outs");
    expect(features).toHaveLength(1);
    expect(features[0]?.properties).toMatchObject({entry: 0, name: "old yard", kind: "old farmstead"});
    const acres = (3600 + 2400 + Math.PI * 100) / 4046.8564224;
    // Rounds are drawn with sides, which take less than 2 % of their own area.
    expect(features[0]?.properties.acres).toBeCloseTo(acres, 2);
    const inside = ([lon, lat]: Position): boolean =>
      lon > west && lon < west + 60 * EAST_M && lat > south && lat < south + 60 * NORTH_M;
    expect((await coresIn(before)).some(({at}) => inside(at))).toBe(true);
    expect((await coresIn(result)).some(({at}) => inside(at))).toBe(false);
  });

  it("are drawn again in their place, and refused where the list is shorter", async () => {
    page = await attached("inlet.geojson", {type: "Point", coordinates: [-86.387, 40.559]}, "keep-out", {
      settings: {name: "inlet", kind: "tile inlet"},
    });
    page = await attached(
      "road.geojson",
      {
        type: "LineString",
        coordinates: [
          [-86.3895, 40.558],
          [-86.386, 40.558],
        ],
      },
      "keep-out",
      {
        at: 0,
        settings: {name: "road", kind: "gravel road", cross: false},
      },
    );
    expect(keepOutsOf(page).map(({name, file}) => [name, file])).toEqual([
      ["road", "road.geojson"],
      ["inlet", "inlet.geojson"],
    ]);
    // As they were drawn, before any distance.
    const {features} = await one.json<Collection>("/api/fields/1/drawn?kind=keep-out&entry=0");
    expect(features.map(({geometry}) => geometry)).toEqual([
      {
        type: "LineString",
        coordinates: [
          [-86.3895, 40.558],
          [-86.386, 40.558],
        ],
      },
    ]);
    expect((await one.ask("/api/fields/1/drawn?kind=keep-out&entry=2")).status).toBe(404);
    expect((await one.ask("/api/fields/1/drawn?kind=setback&entry=0")).status).toBe(404);
    expect((await one.ask("/api/fields/1/drawn?kind=yield&entry=0")).status).toBe(400);
    // What was drawn before stays among the field's files.
    expect(page.sources.map(({name}) => name)).toContain("old yard.geojson");
    const error = await refused(
      await attach("pond.geojson", {type: "Point", coordinates: [-86.387, 40.558]}, "keep-out", {
        at: 2,
        settings: {name: "pond", distance: "30 ft"},
      }),
    );
    expect(error).toMatchObject({code: "attach/no-such-place", message: "There is no keep-out 3: the job has 2."});
    expect((await one.page()).job).toEqual(page.job);
  });

  it("are served as setbacks where they are on, numbered as in the job", async () => {
    const ditch = {
      type: "LineString",
      coordinates: [
        [-86.3895, 40.5585],
        [-86.385, 40.5585],
      ],
    };
    // Around keep-outs the bags are walked in another order, and the lab's results are of the plan before.
    const {keepOuts: _, ...sampling} = page.job.sampling as {keepOuts: object};
    await one.told("PUT", "/api/fields/1/job", {...page.job, sampling});
    const settings = {kind: "ditch", distance: "35 ft", rate: "zero"};
    page = await attached("ditch.geojson", ditch, "setback", {settings: {...settings, name: "old ditch", on: false}});
    page = await attached("ditch.geojson", ditch, "setback", {settings: {...settings, name: "north ditch"}});
    const result = await one.run("1", {evidence: false});
    const {features} = await shapes(result, "setbacks");
    expect(features.map(({properties}) => properties)).toEqual([
      {entry: 1, name: "north ditch", kind: "ditch", acres: expect.any(Number)},
    ]);
    // Two sides of 35 ft along the ditch, whose ends lie in the field by 35 ft or not: some 5 m to 50 m.
    const least = (2 * 35 * 0.3048 * (0.0045 / EAST_M)) / 4046.8564224;
    expect(features[0]?.properties.acres).toBeGreaterThan(least);
    expect(features[0]?.properties.acres).toBeLessThan(1.08 * least);
    const answer = await one.ask(`/api/results/${result.id}/shapes/set-backs`);
    expect(answer.status).toBe(404);
  });

  it("are refused without what a setback must say, in a sentence", async () => {
    const error = await refused(
      await attach("well.geojson", {type: "Point", coordinates: [-86.387, 40.558]}, "setback", {
        settings: {name: "well", kind: "well", distance: "a stone's throw", rate: "zero"},
      }),
    );
    expect(error.message).toContain("a stone's throw");
  });
});

describe("cores moved by hand", () => {
  it("are told with the result, and lie in the served plan where they were put", async () => {
    const before = await coresIn(await one.run("1", {upTo: "plan"}));
    const core = before.find(({id}) => id === "KFG01-1") ?? expect.fail();
    const to = [core.at[0], core.at[1] + 3 * NORTH_M];
    const sampling = page.job.sampling as object;
    const moves = [
      {core: "KFG01-1", strategy: "grid", from: core.at, to, reason: "stone"},
      {core: "KFG01-2", strategy: "grid", to: [-86.4, 40.5]},
    ];
    page = await one.told("PUT", "/api/fields/1/job", {...page.job, sampling: {...sampling, moves}});
    const result = await one.run("1", {upTo: "plan"});
    expect(result.moves.map(({core: id, applied}) => [id, applied])).toEqual([
      ["KFG01-1", true],
      ["KFG01-2", false],
    ]);
    const now = (await coresIn(result)).find(({id}) => id === "KFG01-1") ?? expect.fail();
    expect(now.at[1]).toBeCloseTo(to[1] as number, 8);
    expect(now.properties.moved_ft).toBeCloseTo(3 / 0.3048, 1);
  });
});

describe("a boundary drawn anew", () => {
  const corners: Position[] = [
    [-86.3895614, 40.5568809],
    [-86.3848504, 40.5568899],
    [-86.3848267, 40.5596906],
    [-86.3895733, 40.56051],
    [-86.3895614, 40.5568809],
  ];

  it("takes the old one's place, with other acres, and undo brings back the very same", async () => {
    const before = await one.page();
    page = await attached("boundary.geojson", {type: "Polygon", coordinates: [corners]}, "boundary");
    expect(page.job.field).toMatchObject({boundary: {file: "boundary 2.geojson"}});
    expect(page.card.acres).not.toBeCloseTo(before.card.acres, 1);
    expect(page.card.outline).not.toEqual(before.card.outline);
    for (const station of ["layers", "zones"] as const) expect(page.card.stations[station].state).not.toBe("done");
    expect(page.sources.map(({name}) => name)).toContain("boundary.geojson");
    const undone = await one.told<FieldPage>("POST", "/api/fields/1/undo");
    expect(undone.job).toEqual(before.job);
    expect(undone.card.acres).toBe(before.card.acres);
    expect(undone.card.outline).toEqual(before.card.outline);
  });

  it("is refused where it crosses itself, with every crossing, and nothing is changed", async () => {
    const before = await one.page();
    const crossed = [corners[0], corners[2], corners[1], corners[3], corners[0]];
    const error = await refused(await attach("bow.geojson", {type: "Polygon", coordinates: [crossed]}, "boundary"));
    expect(error.code).toBe("boundary/crosses-itself");
    expect(error.issues?.[0]?.place).toMatchObject({lon: expect.closeTo(-86.387, 2), lat: expect.closeTo(40.558, 2)});
    expect((await one.page()).job).toEqual(before.job);
  });
});
