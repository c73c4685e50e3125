import {FieldError} from "../../errors.ts";
import {nearestName} from "../../units/nearest-name.ts";
import {printed, remembered} from "../guides/cited.ts";
import type {LimeMethod} from "./lime-method.ts";

/** Michigan State University Extension E-2567, 1995: SMP buffer, read as a lime test index. */
export const E2567_LIME: LimeMethod = {
  id: "e-2567",
  title: "Tri-State Fertilizer Recommendations, lime by SMP buffer, 1995",
  cite: "Bulletin E-2567, lime",
  region: "Indiana, Michigan and Ohio",
  depthIn: printed(8),
  basis: {measure: "CCE", percent: printed(90, "agricultural lime of 90 % neutralizing value")},
  rule: {
    kind: "lime index lines",
    // A Sikora buffer may be read on the SMP calibration; a Mehlich buffer reads lower and may not.
    buffers: ["smp", "sikora"],
    lines: [
      {targetPh: 6.8, a: remembered(71.4), b: remembered(1.03)},
      {targetPh: 6.5, a: remembered(60.4), b: remembered(0.87)},
      {targetPh: 6, a: remembered(49.3), b: remembered(0.71)},
    ],
    range: [60, 68],
  },
  slack: printed(0.2, "lime is due when pH is 0.2 to 0.3 under the target"),
  validity: [
    "Mineral soils; SMP or Sikora buffer only.",
    "Tons of lime of 90 % neutralizing value for an 8-inch layer. No-till and established forage are sampled and limed 0 to 4 in: half.",
    "Ohio rates lime by effective neutralizing power; its table of 2020 was not found, and these tons are not in that measure.",
  ],
};

/** Penn State Agronomy Guide: exchangeable acidity as the laboratory reports it. */
export const PENNSYLVANIA_LIME: LimeMethod = {
  id: "pennsylvania",
  title: "Penn State Agronomy Guide, lime by exchangeable acidity",
  cite: "Penn State Agronomy Guide",
  region: "Pennsylvania",
  depthIn: printed(7),
  basis: {measure: "CCE", percent: printed(100)},
  rule: {
    kind: "exchangeable acidity",
    targets: [
      {targetPh: 7, perMeq: printed(1000)},
      {
        targetPh: 6.5,
        perMeq: printed(840),
        small: {
          below: printed(4, "at exactly 4 the page is silent; the larger amount is given"),
          lbPerAcre: printed(2000),
        },
      },
    ],
  },
  slack: printed(0),
  validity: ["Exchangeable acidity in meq/100 g, a 7-inch slice, calcium carbonate equivalent of 100 %."],
};

/** North Carolina Department of Agriculture: acidity by the Mehlich buffer. */
export const NORTH_CAROLINA_LIME: LimeMethod = {
  id: "north-carolina",
  title: "North Carolina agronomic division, lime by Mehlich buffer",
  cite: "North Carolina lime",
  region: "North Carolina",
  depthIn: remembered(8, "the usual depth of tillage; not said where the equation was read"),
  basis: {measure: "CCE", percent: remembered(90, "the state's standard lime; not said where the equation was read")},
  rule: {
    kind: "acidity to target",
    buffers: ["mehlich buffer"],
    startPh: printed(6.6),
    perPhUnit: printed(4, "meq for each unit the buffer fell"),
  },
  slack: printed(0),
  validity: [
    "Mehlich buffer only; lime that was put on before and has not worked yet is taken off.",
    "The page's own example prints 0.76 ton where its numbers give 0.75.",
  ],
};

export const LIME_METHODS: readonly LimeMethod[] = [E2567_LIME, PENNSYLVANIA_LIME, NORTH_CAROLINA_LIME];

/** @throws {FieldError} `lime/no-method` for an id that is none of `LIME_METHODS`. */
export function findLimeMethod(id: string): LimeMethod {
  const found = LIME_METHODS.find((method) => method.id === id);
  if (found) return found;
  const ids = LIME_METHODS.map((method) => method.id);
  const nearest = nearestName(id, ids);
  throw new FieldError("lime/no-method", `There is no way to lime called "${id}".`, {
    hint: nearest ? `Did you mean "${nearest}"?` : `Use one of: ${ids.join(", ")}.`,
  });
}
