import type {LabRecord} from "../../lab/lab-record.ts";
import {METRES_PER_INCH} from "../../units/factors.ts";
import {methodOfCode} from "./method-codes.ts";
import type {ModusReport, ModusSample} from "./modus-report.ts";

type Bag = Readonly<Record<string, unknown>>;

/**
 * Reads the short JSON form: samples and results keyed by id, one depth and date for all that a sample may override.
 */
export function readSlim(root: Bag): ModusReport {
  const samples: ModusSample[] = [];
  const records: LabRecord[] = [];
  for (const [key, sample] of bags(root.samples)) {
    const sampleId = firstText(sample.id, sample.sampleid, sample.number, sample.labid) || key;
    const date = firstText(sample.date, root.date).slice(0, 10);
    const source = bag(sample.source).field ?? bag(root.source).field;
    const field = typeof source === "object" ? firstText(bag(source).name, bag(source).id) : firstText(source);
    const depthM = depthOf(bag(sample.depth)) ?? depthOf(bag(root.depth));
    const place = bag(sample.geolocation);
    const point =
      typeof place.lon === "number" && typeof place.lat === "number" ? ([place.lon, place.lat] as const) : undefined;
    samples.push({sampleId, field, date, ...(point && {point})});
    for (const [, result] of bags(sample.results)) {
      records.push({
        sampleId,
        field,
        date,
        ...(depthM !== undefined && {depthM}),
        analyte: firstText(result.analyte, result.element),
        value: firstText(result.value),
        unit: firstText(result.units, result.unit),
        method: methodOfCode(firstText(result.modusTestID, result.method)),
        row: records.length + 1,
      });
    }
  }
  return {records, samples, issues: []};
}

function depthOf({bottom, units, unit}: Bag): number | undefined {
  const end = Number(bottom);
  const written = firstText(units, unit).toLowerCase();
  const metres = /^(in|inch|inches|\[in_i\])$/.test(written) ? METRES_PER_INCH : written === "cm" ? 0.01 : Number.NaN;
  return end * metres > 0 && end * metres <= 3 ? end * metres : undefined;
}

/** The objects of a list or of an object with keys, each with its key. */
function bags(value: unknown): [string, Bag][] {
  if (typeof value !== "object" || value === null) return [];
  return Object.entries(value).map(([key, one]) => [key, bag(one)]);
}

function bag(value: unknown): Bag {
  return typeof value === "object" && value !== null ? (value as Bag) : {};
}

function firstText(...values: readonly unknown[]): string {
  const found = values.find((value) => (typeof value === "string" && value.trim() !== "") || typeof value === "number");
  return found === undefined ? "" : String(found).trim();
}
