import {toLonLat} from "../../src/geo/frame.ts";
import {harvest} from "./combine.ts";
import {type DirtyRecord, dirtied} from "./dirt.ts";
import type {SampleField, Season} from "./farm.ts";

const HEADER =
  "Longitude,Latitude,Time (s),Flow (lb/s),Distance (ft),Interval (s),Swath (ft),Moisture (%),Speed (mph),Pass,Header";

/** One season's raw log as text: degrees with seven decimals, US units, seconds from the first midnight. */
export function yieldCsv(field: SampleField, season: Season): string {
  const lines = dirtied(harvest(field, season), field, season).map((record) => lineOf(field, record));
  return `${[HEADER, ...lines].join("\n")}\n`;
}

function lineOf(field: SampleField, record: DirtyRecord): string {
  const [lon, lat] = record.fixLost ? [0, 0] : toLonLat(field.frame, record);
  return [
    lon.toFixed(7),
    lat.toFixed(7),
    record.timeS,
    record.flowLbPerS.toFixed(2),
    record.distanceFt.toFixed(2),
    record.intervalS,
    record.swathFt,
    record.moisturePct?.toFixed(1) ?? "",
    record.speedMph.toFixed(2),
    record.pass,
    record.headerDown ? "down" : "up",
  ].join(",");
}
