import {FieldError, type Issue, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import type {AppliedComparison, DifferenceMap, OffRateGround} from "../prescription/as-applied/applied-comparison.ts";
import type {RatePlan} from "../prescription/as-applied/applied-log.ts";
import {compareApplied} from "../prescription/as-applied/compare-applied.ts";
import {comparePolygons} from "../prescription/as-applied/compare-polygons.ts";
import type {Product} from "../prescription/prescription.ts";
import {KILOGRAMS_PER_POUND} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import {appliedOutputs} from "./applied-outputs.ts";
import {given} from "./given.ts";
import {type Host, lendTo, step} from "./host.ts";
import type {AppliedFiles} from "./job/as-applied.ts";
import type {Job} from "./job.ts";
import {productsOf} from "./make-prescriptions.ts";
import {type AppliedRecords, readAsApplied} from "./read-as-applied.ts";
import {type Remarks, readField, remarksAt} from "./read-inputs.ts";
import {planOf, readRatePlan} from "./read-rate-plan.ts";
import {digests, type RunResult, runJob} from "./run.ts";

/** One product's spreading against its plan. */
export interface AppliedRun {
  readonly product?: Product;
  /** Strategy or file it was compared with. */
  readonly plan: string;
  readonly comparison: AppliedComparison;
  /** The files of it, and what they hold. */
  readonly files: readonly string[];
  readonly records: AppliedRecords;
  /** lb weighed out, where the job says. */
  readonly ticketLb?: number;
  readonly map?: DifferenceMap;
  readonly off?: readonly OffRateGround[];
}

export interface AsAppliedRun {
  readonly field: Field;
  readonly runs: readonly AppliedRun[];
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly issues: readonly Issue[];
}

/**
 * Compares what machines logged with the prescriptions of the job, or with rate files. The strategies are run only
 * where one of them is the plan.
 *
 * @param lent - Everything `filesOf(job)` and `appliedFilesOf(job)` name.
 * @throws {FieldError} `as-applied/none`, `as-applied/which-product`, `as-applied/which-plan`,
 *   `as-applied/no-prescription`, and whatever a reader or stage refuses.
 */
export async function runAsApplied(job: Job, lent: FileSet, host: Host): Promise<AsAppliedRun> {
  if (job.asApplied.length === 0) {
    throw new FieldError("as-applied/none", "The job names no log of the spreading.", {
      hint: 'Add one under "asApplied", as in {"files": ["log.csv"], "plan": "zone"}.',
    });
  }
  const needsRun = job.asApplied.some(({plan}) => typeof plan !== "object");
  await loadGeos();
  const files = lendTo(lent, host);
  const issues: Remarks = [];
  const run = needsRun ? await runJob(job, files, host) : undefined;
  const field = run?.field ?? (await readField(job, files, issues));
  const runs: AppliedRun[] = [];
  for (const source of job.asApplied) {
    const name = source.files.join(", ");
    await step(host, `comparing ${name}`);
    const product = productOf(job, source);
    const lbPerGallon = source.lbPerGallon ?? product?.lbPerGallon;
    const {plan, title} = await planFor(job, run, field, files, source, product, issues);
    const records = await readAsApplied(field, files, source, lbPerGallon, issues);
    const options = {swathM: source.swath, tolerancePct: source.tolerancePct, cellM: source.cell};
    const found = withPlace({file: name}, () =>
      "log" in records
        ? compareApplied(field, plan, records.log, options)
        : comparePolygons(field, plan, records.polygons, {...options, id: name}),
    );
    issues.push(...remarksAt({file: name}, found.comparison.issues));
    const ticketLb = source.ticket === undefined ? undefined : source.ticket / KILOGRAMS_PER_POUND;
    if (ticketLb !== undefined) issues.push(...ticketIssues(name, ticketLb, found.comparison));
    runs.push({...found, files: source.files, records, ...(product && {product}), plan: title, ...given({ticketLb})});
  }
  const outputs = await appliedOutputs(field, runs, await digests(files, host), issues, host);
  return {field, runs, outputs, issues};
}

/** A log and a scale should agree within this; common practice. */
const TICKET_PCT = 2;

/** The scale is right: a log that says otherwise is out of calibration. */
function ticketIssues(file: string, ticketLb: number, {loggedLb, total}: AppliedComparison): Issue[] {
  const logged = loggedLb ?? total.appliedLb;
  const pct = (100 * (logged - ticketLb)) / ticketLb;
  if (!(Math.abs(pct) > TICKET_PCT)) return [];
  return [
    {
      code: "as-applied/ticket",
      severity: "warning",
      message: `The log adds up to ${formatNumber(logged)} lb, ${formatNumber(Math.abs(pct), 1)} % ${pct > 0 ? "more" : "less"} than the ${formatNumber(ticketLb)} lb weighed.`,
      place: {file},
      hint: `Calibrate the machine; rates on the ground were about ${formatNumber(ticketLb / logged, 3)} times those logged.`,
    },
  ];
}

/** The product a log is of; nothing where the job has none and a rate file says what was planned. */
function productOf(job: Job, {product, files, plan}: AppliedFiles): Product | undefined {
  const products = productsOf(job).map((one) => one.product);
  if (product === undefined) {
    if (products.length === 1 || typeof plan === "object") return products.length === 1 ? products[0] : undefined;
    throw new FieldError("as-applied/which-product", `The job does not say which product ${files.join(", ")} is of.`, {
      hint: `Give "product": one of ${products.map(({analysis}) => `"${analysis}"`).join(", ")}.`,
    });
  }
  const wanted = product.toLowerCase();
  const found = products.find(({analysis, code, name}) =>
    [analysis, code, name].some((word) => word.toLowerCase() === wanted),
  );
  if (found) return found;
  throw new FieldError("as-applied/which-product", `"${product}" is no product of the job.`, {
    hint: `Its products are ${products.map(({analysis}) => `"${analysis}"`).join(", ")}.`,
  });
}

async function planFor(
  job: Job,
  run: RunResult | undefined,
  field: Field,
  files: FileSet,
  source: AppliedFiles,
  product: Product | undefined,
  issues: Remarks,
): Promise<{plan: RatePlan; title: string}> {
  const {plan} = source;
  if (typeof plan === "object") {
    const lbPerGallon = source.lbPerGallon ?? product?.lbPerGallon;
    return {plan: await readRatePlan(field, files, plan, lbPerGallon, issues), title: plan.file};
  }
  const strategy = plan ?? (job.strategies.length === 1 ? job.strategies[0] : undefined);
  if (strategy === undefined) {
    throw new FieldError("as-applied/which-plan", `The job does not say which plan was spread.`, {
      hint: `Give "plan": one of ${job.strategies.map((name) => `"${name}"`).join(", ")}, or a rate file.`,
    });
  }
  const prescriptions = run?.strategies.find((one) => one.plan.strategy === strategy)?.prescriptions ?? [];
  const prescription = prescriptions.find((one) => one.product.code === product?.code);
  if (prescription) return {plan: planOf(prescription), title: strategy};
  throw new FieldError("as-applied/no-prescription", `The job makes no prescription for the strategy "${strategy}".`, {
    hint: "Name its lab results and crops, or give a rate file as the plan.",
  });
}
