import {readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {loadFiles} from "../../src/cli/load-files.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runLayers} from "../../src/pipeline/run-layers.ts";

const folder = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
const sample = JSON.parse(readFileSync(`${folder}job.json`, "utf8"));

/** The sample field with its elevation alone. */
async function layersOf(elevation: Record<string, unknown>) {
  const {cellSize} = sample.layers;
  const layers = {...(cellSize && {cellSize}), elevation: {...sample.layers.elevation, ...elevation}};
  const {lab, products, ...rest} = sample;
  const job = readJob(JSON.stringify({...rest, strategies: ["grid"], layers}), "job.json");
  const host = {sha256: async () => "", progress: () => {}, pause: async () => {}, isCancelled: () => false};
  return runLayers(job, loadFiles(folder, filesOf(job)).files, host);
}
const idsOf = (run: Awaited<ReturnType<typeof layersOf>>): string[] => run.layers.features.map(({layer}) => layer.id);

describe("the elevation of a job", () => {
  it("gives relative elevation and slope to zones when nothing is said", async () => {
    const run = await layersOf({});
    expect(idsOf(run)).toEqual(["relative-elevation", "slope"]);
    expect(run.layers.shown).toEqual([]);
  });

  it("gives the layers it is asked for, in that order, and shows others beside", async () => {
    const run = await layersOf({
      use: ["wetness", "slope", "far position"],
      show: ["slope", "aspect", "ponding"],
      radii: {near: "30 m", far: "120 m"},
      flow: {method: "d8"},
      drainage: "fill",
      ponds: {leastDepth: "1 in"},
      slope: "evans",
    });
    expect(idsOf(run)).toEqual(["wetness", "slope", "far-position"]);
    expect(run.layers.shown.map(({id}) => id)).toEqual(["aspect", "ponding"]);
    expect([...run.outputs.keys()]).toEqual(
      expect.arrayContaining(["layer-wetness.tif", "layer-aspect.tif", "layer-ponding.tif", "layers.json"]),
    );
    const [wetness, slope, position] = run.layers.features.map(({layer}) => layer.madeFrom.options);
    expect(wetness).toMatchObject({drainage: "fill", flow: {method: "d8", exponent: 1.1}});
    expect(slope).toMatchObject({gradient: "evans"});
    expect(position).toMatchObject({radiiM: {near: 30, far: 120}});
    expect(run.layers.shown[1]?.madeFrom.options).toMatchObject({ponds: {leastDepthM: 0.0254, leastAreaM2: 100}});
  });

  it("is refused with a layer zones cannot be made from, or none", async () => {
    await expect(layersOf({use: ["aspect"]})).rejects.toThrow(/use/);
    await expect(layersOf({use: []})).rejects.toThrow(/use/);
    await expect(layersOf({radii: {near: "120 m", far: "30 m"}, use: ["near position"]})).rejects.toThrow(
      "Position from 120 m to 30 m away is on no ground.",
    );
  });
});
