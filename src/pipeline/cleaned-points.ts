import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import type {CleanedYield} from "../layers/clean-yield.ts";
import {YIELD_REASON_TEXT, YIELD_REASONS, type YieldReason} from "../layers/yield-reasons.ts";
import {BUSHEL, KG_PER_HA_PER_LB_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";

/** One column of the table and one property of the features. */
type Cell = string | number | null;

/**
 * Every record of a cleaned log, kept or not, as a CSV and a GeoJSON file: nothing is left out, so that anyone can
 * count again.
 *
 * A row stands for the ground cut at its position. The grain of that ground was weighed the flow delay later; where
 * the machine stood then, which is where the log had put this grain, stands beside it.
 *
 * @param bushelPounds - For yields in bushels; default the crop's own. Crops without a bushel are in t/ha.
 * @param taken - Names that are in use already.
 */
export function cleanedPointFiles(
  field: Field,
  cleaned: CleanedYield,
  bushelPounds: number | undefined,
  taken: ReadonlyMap<string, unknown>,
): Map<string, Uint8Array> {
  const pounds = bushelPounds ?? (Object.hasOwn(BUSHEL, cleaned.crop) ? poundsOf(cleaned.crop) : undefined);
  const unit = pounds === undefined ? "t/ha" : "bu/ac";
  const perTPerHa = pounds === undefined ? 1 : 1000 / KG_PER_HA_PER_LB_PER_ACRE / pounds;
  const header = [
    "Record",
    "Longitude",
    "Latitude",
    "Weighed at record",
    "Weighed longitude",
    "Weighed latitude",
    `Yield (${unit})`,
    "Pass",
    "Width (m)",
    "Reason code",
    "Reason",
    "In words",
  ];
  const places = Array.from(cleaned.x, (x, i) => lonLatOf(field, x, cleaned.y[i] as number));
  const rows = places.map((place, i): Cell[] => {
    const later = cleaned.weighedAt[i] as number;
    const code = cleaned.reason[i] as number;
    const reason = YIELD_REASONS[code] as YieldReason;
    return [
      i + 1,
      ...place,
      later < 0 ? null : later + 1,
      ...(places[later] ?? [null, null]),
      rounded((cleaned.yieldTPerHa[i] as number) * perTPerHa, 2),
      (cleaned.pass[i] as number) < 0 ? null : (cleaned.pass[i] as number) + 1,
      rounded(cleaned.swathM[i] as number, 2),
      code,
      reason,
      YIELD_REASON_TEXT[reason],
    ];
  });
  const name = freeName(`points-${slug(cleaned.id)}`, taken);
  return new Map([
    [`${name}.csv`, writeTable(header, rows)],
    [
      `${name}.geojson`,
      writeGeoJson(
        {name, features: features(header, rows)},
        {
          loamwright: {
            field: field.name,
            kind: "yield records",
            crop: cleaned.crop,
            season: cleaned.season,
            ...{yieldUnit: unit, ...(pounds !== undefined && {poundsPerBushel: pounds})},
            delayS: cleaned.delay.appliedS,
            counts: cleaned.counts,
          },
        },
      ),
    ],
  ]);
}

/** Seven decimals of a degree are a centimetre: finer than any receiver. */
const DECIMALS = 7;

function lonLatOf(field: Field, x: number, y: number): readonly [number, number] | readonly [null, null] {
  if (Number.isNaN(x + y)) return [null, null];
  const [lon, lat] = toLonLat(field.frame, {x, y});
  return [roundHalfAway(lon, DECIMALS), roundHalfAway(lat, DECIMALS)];
}

/** Records with a position; the others are in the table only, because a feature needs a place. */
function features(header: readonly string[], rows: readonly (readonly Cell[])[]): Feature[] {
  return rows.flatMap((row, i) => {
    const [, lon, lat] = row;
    if (typeof lon !== "number" || typeof lat !== "number") return [];
    const properties = Object.fromEntries(
      header.flatMap((key, k) => (k === 1 || k === 2 ? [] : [[key, row[k] as Cell] as const])),
    );
    return [{id: String(i + 1), geometry: {type: "Point", coordinates: [lon, lat]}, properties}];
  });
}

function rounded(value: number, decimals: number): number | null {
  return Number.isFinite(value) ? roundHalfAway(value, decimals) : null;
}

function poundsOf(crop: string): number {
  return BUSHEL[crop as keyof typeof BUSHEL].pounds;
}

function slug(id: string): string {
  return (
    id
      .toLowerCase()
      .replace(/\.[a-z]{1,4}(?=$| )/, "")
      .replace(/[^\p{L}\p{N}]+/gu, "-")
      .replace(/^-|-$/g, "") || "yield"
  );
}

function freeName(name: string, taken: ReadonlyMap<string, unknown>): string {
  if (!taken.has(`${name}.csv`)) return name;
  let n = 2;
  while (taken.has(`${name}-${n}.csv`)) n++;
  return `${name}-${n}`;
}
