import {execFileSync} from "node:child_process";
import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {makeField} from "../../../src/geo/field.ts";
import {columnsToPlane, frameAt, toLonLat} from "../../../src/geo/frame.ts";
import {loadGeos} from "../../../src/geo/geos.ts";
import type {LonLat} from "../../../src/geo/shapes.ts";
import {cleanYield} from "../../../src/layers/clean-yield.ts";
import type {YieldLog} from "../../../src/layers/yield-log.ts";
import {makeLog} from "../../layers/make-log.ts";
import {systemPython} from "../gdal.ts";

// The flow delay by another way in NumPy: the patterns of neighbouring passes driven in opposite directions lie
// 2 × speed × delay apart, and their cross-correlation peaks there. Nothing of it is shared with our own estimate.

const asked = process.env.LOAMWRIGHT_REFERENCE === "1";
const python = asked ? systemPython() : "python3";
if (asked) await loadGeos();
const shared = new URL("../../../../shared/data/reference/yield/synthetic_log.csv", import.meta.url);

const SCRIPT = `
import json, sys, numpy as np
log = json.load(sys.stdin)
p, y, g = (np.array(log[k], float) for k in ("pass", "y", "grain"))
speed = log["speed"]
passes = []
for number in np.unique(p):
    k = np.where(p == number)[0][30:]
    if len(k) < 60: continue
    up = y[k[-1]] > y[k[0]]
    order = np.argsort(y[k])
    at = np.arange(40, log["length"] - 40, 1.0)
    passes.append((up, np.interp(at, y[k][order], g[k][order])))
width = 120
lags = np.arange(-width, width + 1)
corr, pairs = np.zeros(len(lags)), 0
for (upA, a), (upB, b) in zip(passes, passes[1:]):
    if upA == upB: continue
    if not upA: a, b = b, a
    a, b = a - a.mean(), b - b.mean()
    a, b = np.clip(a, -3 * a.std(), 3 * a.std()), np.clip(b, -3 * b.std(), 3 * b.std())
    for i, lag in enumerate(lags):
        u, v = (a[lag:], b[:len(b) - lag]) if lag > 0 else (a[:len(a) + lag], b[-lag:]) if lag < 0 else (a, b)
        corr[i] += np.mean(u * v) / (u.std() * v.std())
    pairs += 1
print(json.dumps({"numpy": np.__version__, "pairs": pairs, "cross": float(lags[np.argmax(corr)] / 2 / speed)}))
`;

interface Found {
  readonly numpy: string;
  readonly pairs: number;
  readonly cross: number;
}

function byNumpy(log: {pass: number[]; y: number[]; grain: number[]; speed: number; length: number}): Found {
  return JSON.parse(execFileSync(python, ["-c", SCRIPT], {input: JSON.stringify(log), encoding: "utf8"}));
}

describe.skipIf(!asked)("the flow delay against NumPy", () => {
  if (!asked) return;
  it.each([6, 12, 20])("of %d s, without mixing, is the same by both methods", (delayS) => {
    const made = makeLog({
      ...{passes: 20, lengthM: 500, delayS, noise: 0.03},
      yieldAt: (x, y) => 10 + 2 * Math.sin(x / 40) + 2 * Math.cos(y / 25) + Math.sin(y / 60),
    });
    const {delay} = cleanYield(made.log, made.field);
    const down = [...made.log.x.keys()].filter((i) => made.log.headerDown[i] === 1);
    const found = byNumpy({
      pass: down.map((i) => Math.floor((made.fromWest[i] as number) / 9)),
      y: down.map((i) => made.fromSouth[i] as number),
      grain: down.map((i) => made.log.flowKgPerS[i] as number),
      ...{speed: 2, length: 500},
    });
    console.log(
      `NumPy ${found.numpy}, ${found.pairs} pairs of passes: cross-correlation ${found.cross} s, ours ${delay.appliedS} s`,
    );
    expect(Math.abs(found.cross - delay.appliedS)).toBeLessThan(1); // a metre of lag is a quarter of a second
    expect(Math.abs(delay.appliedS - delayS)).toBeLessThan(0.5);
  });

  it.skipIf(!existsSync(shared))("of the log of known truth: effective lag 15.5 s (skipped: no shared data)", () => {
    const [head = "", ...lines] = readFileSync(shared, "utf8").trim().split(/\r?\n/);
    const rows = lines.map((line) => line.split(","));
    const column = (name: string): number[] => rows.map((row) => Number(row[head.split(",").indexOf(name)]));
    const [pass, y, flow, down, distance, injected] = [
      column("pass"),
      column("y"),
      column("flow_kgps"),
      column("header_down"),
      column("distance_m"),
      column("injected_error"),
    ];
    const use = pass.map((_, i) => i).filter((i) => down[i] === 1 && injected[i] === 0);
    const pick = (values: readonly number[]): number[] => use.map((i) => values[i] as number);
    const found = byNumpy({
      ...{pass: pick(pass), y: pick(y)},
      grain: use.map((i) => (flow[i] as number) / Math.max(0.5, distance[i] as number)),
      ...{speed: 2, length: 400},
    });
    const delay = delayOf(rows, head);
    console.log(`NumPy ${found.numpy}: cross-correlation ${found.cross} s, ours ${delay} s`);
    // An independent chain on the same log: 14.2 s by cross-correlation, 14.86 s by differences.
    expect(Math.abs(found.cross - 14.2)).toBeLessThan(1);
    expect(Math.abs(delay - 14.86)).toBeLessThan(1);
    expect(Math.abs(delay - found.cross)).toBeLessThan(1);
  });
});

function delayOf(rows: readonly (readonly string[])[], head: string): number {
  const column = (name: string): Float64Array =>
    Float64Array.from(rows, (row) => Number(row[head.split(",").indexOf(name)]));
  const corner = frameAt(-86.4, 40.55);
  const square = [
    [0, 0],
    [400, 0],
    [400, 400],
    [0, 400],
    [0, 0],
  ] as const;
  const {field} = makeField("log", "Log", [[square.map(([x, y]) => toLonLat(corner, {x, y})) as LonLat[]]]);
  const y = column("y");
  const places = Array.from(column("x"), (x, i) => toLonLat(corner, {x, y: y[i] as number}));
  const log: YieldLog = {
    ...{id: "log", crop: "corn", season: 2020, bushelPounds: 56, standardMoisturePct: 15.5},
    ...columnsToPlane(
      field.frame,
      Float64Array.from(places, ([lon]) => lon),
      Float64Array.from(places, ([, lat]) => lat),
    ),
    ...{timeS: column("time_s"), flowKgPerS: column("flow_kgps"), distanceM: column("distance_m")},
    ...{swathM: column("swath_m"), moisturePct: column("moisture_pct"), headerDown: column("header_down")},
  };
  return cleanYield(log, field).delay.appliedS;
}
