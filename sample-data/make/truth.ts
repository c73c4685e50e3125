import {patchStrength, type SampleField} from "./farm.ts";
import {ramp, type Surface, smoothNoise} from "./noise.ts";
import {type Terrain, terrainOf} from "./terrain.ts";

/** What the soil really is at one point, 0 to 8 inches: what no farmer ever sees. */
export interface SoilTruth {
  /** Mehlich-3 phosphorus by ICP and potassium, ppm. */
  readonly pPpm: number;
  readonly kPpm: number;
  readonly ph: number;
  readonly bufferPh: number;
  readonly omPct: number;
  readonly cecMeq: number;
}

/** What the soil is made of: the part of the truth that a soil mapper sees something of. */
export interface GroundTruth {
  /** 0 to 1. */
  readonly wet: number;
  readonly knoll: number;
  readonly sand: number;
  readonly muck: number;
  readonly clayPct: number;
  readonly omPct: number;
}

/** The soil at any point of a field's frame, metres; also outside the boundary. */
export function truthAt(field: SampleField, x: number, y: number): SoilTruth {
  return surfacesOf(field).soil(x, y);
}

export function groundAt(field: SampleField, x: number, y: number): GroundTruth {
  return surfacesOf(field).ground(x, y);
}

export function terrainAt(field: SampleField): Terrain {
  return surfacesOf(field).terrain;
}

interface Surfaces {
  readonly terrain: Terrain;
  readonly ground: (x: number, y: number) => GroundTruth;
  readonly soil: (x: number, y: number) => SoilTruth;
}

// Surfaces hold only numbers derived from the field, so remembering them cannot change a result.
const known = new Map<SampleField, Surfaces>();

function surfacesOf(field: SampleField): Surfaces {
  let surfaces = known.get(field);
  if (!surfaces) {
    const terrain = terrainOf(field);
    const ground = groundOf(field, terrain);
    surfaces = {terrain, ground, soil: soilOf(field, ground)};
    known.set(field, surfaces);
  }
  return surfaces;
}

/** Dark wet ground in the lows, pale eroded tops, muck in the hollows, a streak of outwash sand. */
function groundOf(field: SampleField, terrain: Terrain): (x: number, y: number) => GroundTruth {
  const lownessNoise = smoothNoise(field.seed, "ground/lowness", 95);
  const sandNoise = smoothNoise(field.seed, "ground/sand", 70);
  const muckNoise = smoothNoise(field.seed, "ground/muck", 40);
  const clayNoise = smoothNoise(field.seed, "ground/clay", 120);
  const omNoise = smoothNoise(field.seed, "ground/om", 80);
  const omFine = smoothNoise(field.seed, "ground/om fine", 12);
  return (x, y) => {
    const lowness = terrain.lownessAt(x, y) + 0.32 * lownessNoise(x, y);
    const wet = ramp(lowness, 0.35, 1.7);
    const knoll = ramp(-lowness, 0.7, 2.2);
    const muck = ramp(patchStrength(field.hollows, x, y) + 0.1 * muckNoise(x, y), 0.42, 0.75);
    const sand = ramp(patchStrength(field.sand, x, y) + 0.09 * sandNoise(x, y), 0.3, 0.6) * (1 - muck);
    const clayPct = 21 + 11.5 * wet + 3 * knoll - 11 * sand + 3 * muck + 1.5 * clayNoise(x, y);
    const om = 2.6 + 2.1 * wet - 0.85 * knoll - 0.8 * sand + 3 * muck;
    return {wet, knoll, sand, muck, clayPct, omPct: om * Math.exp(0.09 * omNoise(x, y) + 0.05 * omFine(x, y))};
  };
}

function soilOf(
  field: SampleField,
  ground: (x: number, y: number) => GroundTruth,
): (x: number, y: number) => SoilTruth {
  const {history} = field;
  const noise = (purpose: string, rangeM: number): Surface => smoothNoise(field.seed, `soil/${purpose}`, rangeM);
  const pBroad = noise("p broad", 210);
  const pFine = noise("p fine", 34);
  const pCore = noise("p core", 7);
  const kBroad = noise("k broad", 190);
  const kFine = noise("k fine", 30);
  const kCore = noise("k core", 7);
  const phBroad = noise("ph broad", 170);
  const phCore = noise("ph core", 7);
  const phFine = noise("ph fine", 26);
  const manureEdge = noise("manure edge", 55);
  const across = acrossFence(history.oldFence);
  return (x, y) => {
    const {wet, knoll, sand, clayPct, omPct} = ground(x, y);
    const left = ramp(across(x, y), -7, 7);
    const manure = 1.4 * Math.tanh((1 / 1.4) * patchStrength(history.manure, x, y) * (1 + 0.18 * manureEdge(x, y)));
    const logP =
      P_LEVEL[field.id] +
      history.oldFence.logP * left +
      manure -
      0.3 * knoll +
      0.08 * wet +
      0.3 * pBroad(x, y) +
      0.14 * pFine(x, y) +
      0.16 * pCore(x, y);
    const cecMeq = 2.0 * omPct + 0.46 * clayPct;
    const logK =
      Math.log(K_BASE + K_PER_CEC * cecMeq) +
      history.oldFence.logK * left +
      0.45 * manure +
      patchStrength(history.hay, x, y) +
      0.17 * kBroad(x, y) +
      0.09 * kFine(x, y) +
      0.1 * kCore(x, y);
    const ph = Math.min(
      7.7,
      6.22 +
        history.oldFence.ph * left +
        patchStrength(history.lime, x, y) +
        0.55 * knoll +
        0.22 * wet -
        0.3 * sand +
        0.27 * phBroad(x, y) +
        0.09 * phFine(x, y) +
        0.05 * phCore(x, y),
    );
    return {pPpm: Math.exp(logP), kPpm: Math.exp(logK), ph, bufferPh: bufferPhOf(ph, cecMeq), omPct, cecMeq};
  };
}

/** Logarithm of the P test where nothing happened, and K as supplied by clay and organic matter. */
const P_LEVEL: Record<SampleField["id"], number> = {millrace: 3.3, "kiln-forty": 2.95};
const K_BASE = 38;
const K_PER_CEC = 6.2;

/**
 * Buffer pH of a Sikora-type buffer from acidity: H (meq/100 g) = 12 × (7.0 - buffer pH), and H grows with the cation
 * exchange and with the distance below pH 6.9. The slope is chosen to look like the till plain: common practice, no
 * source.
 */
function bufferPhOf(ph: number, cecMeq: number): number {
  return 7 - (cecMeq * 0.26 * Math.max(0, 6.9 - ph)) / 12;
}

/** Signed distance from the old fence line, metres, positive on its left. */
function acrossFence({from, to}: {from: readonly [number, number]; to: readonly [number, number]}): Surface {
  const dx = to[0] - from[0];
  const dy = to[1] - from[1];
  const length = Math.hypot(dx, dy);
  return (x, y) => (dx * (y - from[1]) - dy * (x - from[0])) / length;
}
