import {frameAt, type LocalFrame, toLonLat, toPlane} from "../../src/geo/frame.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";

// Sedgewater Farm is invented. Its two fields are laid out here by hand, in metres of each field's own frame, as an
// adviser would sketch them: drainage first, then what people did to the ground. Everything else is derived.

type Point = readonly [x: number, y: number];

/** A rounded patch: `along` and `across` are the half-lengths at which its strength has fallen to 0.37. */
export interface Patch {
  readonly at: Point;
  readonly along: number;
  readonly across: number;
  /** Degrees the long axis is turned from east, counter-clockwise. */
  readonly turn: number;
  readonly strength: number;
}

/** A line water follows, with the height of its floor at every corner, metres. */
export type Swale = readonly (readonly [x: number, y: number, floorM: number])[];

/** One harvest as it was driven. */
export interface Season {
  readonly year: number;
  readonly crop: "corn" | "soybean";
  readonly weather: "dry" | "fair" | "wet";
  readonly swathFt: number;
  /** Working speed, m/s. */
  readonly speedMPerS: number;
  /** Mean yield wanted over good ground, bu/ac. */
  readonly baseBuPerAcre: number;
  readonly moisturePct: number;
  /** Side the first pass was cut on. */
  readonly from: "low" | "high";
}

export interface SampleField {
  readonly id: "millrace" | "kiln-forty";
  readonly name: string;
  readonly seed: number;
  readonly frame: LocalFrame;
  readonly outline: MultiPolygon;
  /** Points and lines an adviser has to know of; written to landmarks.geojson. */
  readonly landmarks: readonly {readonly kind: string; readonly note: string; readonly at: Point}[];
  readonly swales: readonly Swale[];
  /** How far the uplands rise above the swale floors, metres, and how far from a floor they need to get there. */
  readonly rise: {readonly heightM: number; readonly widthM: number};
  readonly knolls: readonly Patch[];
  readonly hollows: readonly Patch[];
  readonly sand: readonly Patch[];
  readonly history: History;
  /** Degrees from north the rows run. */
  readonly rowHeading: 0 | 90;
  readonly logEveryS: 1 | 2;
  readonly seasons: readonly Season[];
}

/** What owners before did to the fertility, as shifts of the natural logarithm of the soil test. */
export interface History {
  /** A fence line taken out long ago; `logP` and `logK` apply on its left, seen from `from` to `to`. */
  readonly oldFence: {
    readonly from: Point;
    readonly to: Point;
    readonly logP: number;
    readonly logK: number;
    readonly ph: number;
  };
  /** Feedlots, homesteads, barnyards; `strength` is log P, log K follows at 0.45 of it. */
  readonly manure: readonly Patch[];
  /** Hay taken off without potash; `strength` is log K. */
  readonly hay: readonly Patch[];
  /** Lime heaps and kiln ash; `strength` in pH. */
  readonly lime: readonly Patch[];
}

const closed = (points: readonly Point[]): XY[] => [...points, points[0] as Point].map(([x, y]) => ({x, y}));

const SEASONS: readonly Season[] = [
  {
    year: 2023,
    crop: "corn",
    weather: "dry",
    swathFt: 30,
    speedMPerS: 2.0,
    baseBuPerAcre: 196,
    moisturePct: 17.6,
    from: "low",
  },
  {
    year: 2024,
    crop: "soybean",
    weather: "fair",
    swathFt: 35,
    speedMPerS: 1.9,
    baseBuPerAcre: 63,
    moisturePct: 12.1,
    from: "high",
  },
  {
    year: 2025,
    crop: "corn",
    weather: "wet",
    swathFt: 30,
    speedMPerS: 1.9,
    baseBuPerAcre: 216,
    moisturePct: 19.8,
    from: "low",
  },
];

/** A quarter section less its road: a grassed waterway falls west through it, and a county road cuts its corner. */
export const millrace: SampleField = {
  id: "millrace",
  name: "Millrace",
  seed: 4055,
  frame: frameAt(-86.4, 40.55),
  outline: [
    [
      closed([
        [-403, -395],
        [-96, -397],
        [214, -398],
        [267, -368],
        [403, -275],
        [402, 96],
        [400, 400],
        [31, 402],
        [-187, 400],
        [-401, 402],
        [-402, 41],
      ]),
      // Grass, 11 to 15 m wide; it stops short of the west edge, where a pipe carries the water under a crossing.
      [
        ...closed([
          [74, 81],
          [38, 61],
          [-18, 36],
          [-88, 14],
          [-152, -22],
          [-208, -51],
          [-262, -72],
          [-318, -83],
          [-379, -111],
          [-385, -124],
          [-324, -97],
          [-266, -86],
          [-200, -64],
          [-143, -34],
          [-84, 2],
          [-12, 24],
          [44, 50],
          [78, 72],
        ]),
      ].reverse(),
    ],
  ],
  landmarks: [
    {kind: "surface inlet", note: "Standpipe of the tile main, in the hollow", at: [196, -92]},
    {kind: "gate", note: "Culvert on the county road", at: [300, -336]},
    {kind: "culvert", note: "Waterway goes under the farm crossing", at: [-393, -122]},
  ],
  swales: [
    [
      [520, 352, 241.9],
      [330, 262, 241.2],
      [168, 158, 240.6],
      [60, 68, 240.15],
      [-50, 22, 239.75],
      [-148, -28, 239.4],
      [-264, -79, 239.0],
      [-382, -118, 238.6],
      [-560, -170, 238.0],
    ],
    [
      [150, -430, 241.6],
      [92, -300, 241.1],
      [8, -206, 240.5],
      [-86, -128, 239.95],
      [-170, -44, 239.35],
    ],
    [
      [-236, 470, 241.9],
      [-196, 300, 241.15],
      [-238, 150, 240.3],
      [-286, 20, 239.5],
      [-300, -88, 238.95],
    ],
    [
      [268, 20, 241.2],
      [318, -96, 240.7],
      [402, -176, 240.2],
      [560, -236, 239.5],
    ],
    [
      [-120, -480, 241.4],
      [-200, -330, 240.7],
      [-310, -240, 239.9],
      [-352, -112, 238.8],
    ],
  ],
  rise: {heightM: 1.75, widthM: 118},
  knolls: [
    {at: [-78, 214], along: 92, across: 52, turn: 24, strength: 1.35},
    {at: [248, 346], along: 70, across: 44, turn: -12, strength: 0.9},
    {at: [-322, -310], along: 84, across: 50, turn: 40, strength: 1.25},
    {at: [178, -248], along: 64, across: 46, turn: 70, strength: 0.85},
    {at: [330, 112], along: 76, across: 42, turn: 105, strength: 1.1},
    {at: [-24, -306], along: 60, across: 40, turn: 10, strength: 0.7},
    {at: [82, 292], along: 48, across: 38, turn: 55, strength: 0.7},
    {at: [-356, 118], along: 52, across: 36, turn: 80, strength: 0.75},
  ],
  hollows: [
    {at: [192, -94], along: 54, across: 37, turn: 20, strength: 1.15},
    {at: [-318, 286], along: 34, across: 26, turn: 60, strength: 0.75},
    {at: [-60, 338], along: 30, across: 22, turn: 0, strength: 0.55},
    {at: [348, -230], along: 30, across: 24, turn: -30, strength: 0.5},
  ],
  sand: [
    {at: [-336, 352], along: 150, across: 46, turn: -16, strength: 1},
    {at: [372, 34], along: 66, across: 26, turn: 82, strength: 0.9},
  ],
  history: {
    oldFence: {from: [-2, -420], to: [26, 420], logP: -0.42, logK: -0.06, ph: -0.18},
    manure: [
      {at: [262, -246], along: 62, across: 44, turn: 34, strength: 1.25},
      {at: [214, -180], along: 190, across: 118, turn: 34, strength: 0.5},
      {at: [-352, 346], along: 34, across: 28, turn: 0, strength: 0.95},
    ],
    hay: [
      {at: [-262, 238], along: 210, across: 170, turn: 85, strength: -0.3},
      {at: [120, 330], along: 120, across: 70, turn: 0, strength: -0.14},
    ],
    lime: [{at: [330, -210], along: 60, across: 34, turn: 34, strength: 0.45}],
  },
  rowHeading: 90,
  logEveryS: 2,
  seasons: SEASONS,
};

/** Forty acres with a farmstead in its corner and a clay pit, long since filled, that fed a brick kiln. */
export const kilnForty: SampleField = {
  id: "kiln-forty",
  name: "Kiln Forty",
  seed: 4056,
  frame: frameAt(-86.3872, 40.5587),
  outline: [
    [
      closed([
        [-200, -202],
        [199, -201],
        [201, 110],
        [117, 112],
        [115, 203],
        [-201, 201],
      ]),
    ],
  ],
  landmarks: [
    {kind: "gate", note: "Farm lane behind the barn", at: [114, 150]},
    {kind: "well", note: "House well in the farmstead", at: [158, 152]},
  ],
  swales: [
    [
      [-330, 168, 244.3],
      [-176, 112, 243.9],
      [-62, 34, 243.5],
      [22, -46, 243.15],
      [96, -138, 242.75],
      [186, -224, 242.35],
      [300, -330, 241.9],
    ],
    [
      [-190, -330, 244.1],
      [-112, -176, 243.6],
      [0, -128, 243.1],
      [96, -140, 242.75],
    ],
  ],
  rise: {heightM: 1.5, widthM: 96},
  knolls: [
    {at: [62, 84], along: 66, across: 42, turn: 35, strength: 1.1},
    {at: [-128, -62], along: 50, across: 36, turn: -30, strength: 0.8},
    {at: [164, -62], along: 52, across: 34, turn: 95, strength: 0.85},
    {at: [-96, 176], along: 44, across: 30, turn: 0, strength: 0.6},
  ],
  hollows: [
    {at: [-34, -26], along: 30, across: 22, turn: -35, strength: 0.75},
    {at: [-168, 82], along: 24, across: 18, turn: 0, strength: 0.4},
  ],
  sand: [{at: [-170, -112], along: 52, across: 24, turn: 74, strength: 0.8}],
  history: {
    oldFence: {from: [-220, -24], to: [220, -12], logP: 0.3, logK: 0.12, ph: 0.15},
    manure: [
      {at: [92, 92], along: 46, across: 34, turn: 45, strength: 1.0},
      {at: [66, 60], along: 110, across: 76, turn: 35, strength: 0.4},
    ],
    hay: [{at: [-116, -130], along: 100, across: 76, turn: 0, strength: -0.3}],
    lime: [{at: [-70, -66], along: 34, across: 24, turn: -35, strength: 0.7}],
  },
  rowHeading: 0,
  logEveryS: 1,
  seasons: SEASONS,
};

export const FIELDS: readonly SampleField[] = [millrace, kilnForty];

/** Points of another frame of the same field (its product frame) in the frame this farm is drawn in. */
export function intoFrameOf(field: SampleField, frame: LocalFrame): (point: XY) => XY {
  return (point) => toPlane(field.frame, toLonLat(frame, point));
}

/** Strength of the patches at a point, the strongest parts adding up. */
export function patchStrength(patches: readonly Patch[], x: number, y: number): number {
  let sum = 0;
  for (const patch of patches) {
    const turn = (patch.turn * Math.PI) / 180;
    const dx = x - patch.at[0];
    const dy = y - patch.at[1];
    const u = (dx * Math.cos(turn) + dy * Math.sin(turn)) / patch.along;
    const v = (dy * Math.cos(turn) - dx * Math.sin(turn)) / patch.across;
    sum += patch.strength * Math.exp(-u * u - v * v);
  }
  return sum;
}
