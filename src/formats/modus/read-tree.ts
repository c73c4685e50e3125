import type {Issue} from "../../errors.ts";
import type {LabRecord} from "../../lab/lab-record.ts";
import {METRES_PER_INCH} from "../../units/factors.ts";
import type {XmlElement} from "../xml.ts";
import {methodOfCode} from "./method-codes.ts";
import type {ModusReport, ModusSample} from "./modus-report.ts";

/** The names a sample may go by, best first: the one given when it was taken, the lab's number, the bag's. */
const ID_NAMES = ["FMISSampleID", "SampleNumber", "SampleContainerID"] as const;

/**
 * Reads the element tree of a Modus 1 result document.
 *
 * Lenient where labs deviate: any order, missing parts, elements of their own. An id is of one kind for the whole
 * document: the best that every sample has.
 */
export function readTree(root: XmlElement, file: string): ModusReport {
  const issues: Issue[] = [];
  const samples: ModusSample[] = [];
  const records: LabRecord[] = [];
  const events = all(root, "Event");
  const scopes = events.length > 0 ? events : [root];
  const idName = idNameFor(all(root, "SoilSample"));
  let nameless = 0;
  for (const event of scopes) {
    const field = fieldOf(event);
    const date = dateOf(event);
    const depths = new Map(all(event, "DepthRef").map((ref) => [text(ref, "DepthID"), depthOf(ref)]));
    for (const sample of all(event, "SoilSample")) {
      const sampleId = text(sample, idName) || firstId(sample);
      if (sampleId === "") nameless++;
      const point = pointOf(text(sample, "Geometry") || text(first(sample, "Geometry"), "wkt"));
      samples.push({sampleId, field, date, ...(point && {point})});
      const before = records.length;
      for (const layer of all(sample, "Depth")) {
        const depthM = depths.get(text(layer, "DepthID"));
        for (const result of all(layer, "NutrientResult")) {
          records.push({
            sampleId,
            field,
            date,
            ...(depthM !== undefined && {depthM}),
            analyte: text(result, "Element"),
            value: text(result, "Value"),
            unit: text(result, "ValueUnit"),
            method: methodOfCode(text(result, "ModusTestID")),
            row: records.length + 1,
          });
        }
      }
      if (records.length === before) issues.push(withoutResults(file, sampleId, samples.length));
    }
  }
  if (nameless > 0) {
    issues.push({
      code: "modus/no-sample-id",
      severity: "warning",
      message: `${nameless} of ${samples.length} samples in ${file} have no id of any kind.`,
      place: {file},
      hint: "Ask the lab to send the ids that stood on the bags.",
    });
  }
  if (idName !== "FMISSampleID" && samples.length > 0) {
    issues.push({
      code: "modus/lab-ids",
      severity: "note",
      message: `Samples are named by ${idName === "SampleNumber" ? "their number" : "their container"}; the id given when they were taken is not on all of them.`,
      place: {file},
    });
  }
  return {records, samples, issues};
}

function idNameFor(samples: readonly XmlElement[]): (typeof ID_NAMES)[number] {
  return (
    ID_NAMES.find((name) => samples.length > 0 && samples.every((sample) => text(sample, name) !== "")) ??
    "SampleNumber"
  );
}

function firstId(sample: XmlElement): string {
  return ID_NAMES.map((name) => text(sample, name)).find((id) => id !== "") ?? "";
}

/** The field's name, else its id, else what tells one event from another. */
function fieldOf(event: XmlElement): string {
  const field = first(first(event, "FMISProfile"), "Field");
  const named = field ? field.text.trim() || text(field, "Name") || text(field, "ID") : "";
  return named || text(event, "EventCode") || text(event, "LabEventID");
}

/** The day alone: hours of a lab's clock would part what belongs together. */
function dateOf(event: XmlElement): string {
  const written = text(event, "EventDate") || text(event, "ReceivedDate") || text(event, "ProcessedDate");
  return /^\d{4}-\d{2}-\d{2}/.exec(written)?.[0] ?? written;
}

function depthOf(ref: XmlElement): number | undefined {
  const end = Number(text(ref, "EndingDepth") || text(ref, "ColumnDepth") || Number.NaN);
  const unit = text(ref, "DepthUnit").toLowerCase();
  const metres = /^(in|inch|inches)$/.test(unit) ? METRES_PER_INCH : unit === "cm" ? 0.01 : Number.NaN;
  const depthM = end * metres;
  return depthM > 0 && depthM <= 3 ? depthM : undefined;
}

function pointOf(wkt: string): readonly [number, number] | undefined {
  const match = /^\s*POINT\s*Z?\s*\(\s*([-+\d.eE]+)[\s,]+([-+\d.eE]+)/i.exec(wkt);
  const point = match && ([Number(match[1]), Number(match[2])] as const);
  return point?.every(Number.isFinite) ? point : undefined;
}

function withoutResults(file: string, sampleId: string, number: number): Issue {
  return {
    code: "modus/no-results",
    severity: "warning",
    message: `Sample "${sampleId || `number ${number}`}" in ${file} has no soil results.`,
    place: {file},
    hint: "Ask the lab for it.",
  };
}

/** Every element of that name below another, in document order, not below one another. */
function all(element: XmlElement, name: string): XmlElement[] {
  return element.children.flatMap((child) => (same(child.name, name) ? [child] : all(child, name)));
}

function first(element: XmlElement | undefined, name: string): XmlElement | undefined {
  return element && all(element, name)[0];
}

/** An attribute of that name, or the text of the first element below. */
function text(element: XmlElement | undefined, name: string): string {
  if (!element) return "";
  const key = Object.keys(element.attributes).find((attribute) => same(attribute, name));
  return (key === undefined ? first(element, name)?.text : element.attributes[key])?.trim() ?? "";
}

/** Spellings differ in case, and some makers put a prefix before names. */
function same(name: string, wanted: string): boolean {
  return name.replace(/^.*:/, "").toLowerCase() === wanted.toLowerCase();
}
