import {FieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {type Setback, setbackShape} from "../prescription/setback.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {productsOf} from "./make-prescriptions.ts";
import type {Remarks} from "./read-inputs.ts";
import {drawnIn, featuresOf} from "./read-sampling-files.ts";

/**
 * The job's setbacks that are on, as ground in the field's frame.
 *
 * @throws {FieldError} `setback/nothing-drawn`, `setback/no-distance`, `setback/no-such-product`, and what the readers refuse.
 */
export async function readSetbacks(job: Job, field: Field, files: FileSet, remarks: Remarks): Promise<Setback[]> {
  checkProducts(job);
  const found: Setback[] = [];
  for (const source of job.setbacks ?? []) {
    const {name, kind, rate, products, on, file} = source;
    if (!on) {
      remarks.push({
        code: "setback/off",
        severity: "note",
        message: `The setback "${name}" (${kind}) is off: nothing is taken out for it.`,
        place: {file},
        hint: "Check local code.",
      });
      continue;
    }
    const shape = await setbackGround(field, files, source, remarks);
    found.push({
      name,
      kind,
      shape,
      rate: typeof rate === "number" ? {lbPerAcre: rate} : rate,
      ...given({products}),
    });
  }
  return found;
}

/** The ground of one setback of a job, its distance around what was drawn. */
export async function setbackGround(
  field: Field,
  files: FileSet,
  source: NonNullable<Job["setbacks"]>[number],
  remarks: Remarks,
): Promise<MultiPolygon> {
  return setbackShape(source.name, drawnIn(field, await featuresOf(files, source, remarks)), source.distance);
}

/** A product named wrongly would leave its ground open without a word. */
function checkProducts(job: Job): void {
  const known = productsOf(job).flatMap(({product}) => [product.analysis, product.code]);
  if (job.machine.lime) known.push("lime");
  const lower = new Set(known.map((one) => one.toLowerCase()));
  for (const {name, products = [], on, file} of job.setbacks ?? []) {
    const stray = products.find((one) => !lower.has(one.trim().toLowerCase()));
    if (!on || stray === undefined) continue;
    throw new FieldError(
      "setback/no-such-product",
      `The setback "${name}" names "${stray}", which this job does not spread.`,
      {
        place: {file},
        hint: `Products are ${known.join(", ") || "none"}; leave them out to mean all.`,
      },
    );
  }
}
