import {FieldError, type Issue} from "../../errors.ts";
import type {Method, UnitValue} from "../../lab/soil-test.ts";
import {POUNDS_PER_SHORT_TON} from "../../units/factors.ts";
import {formatShort as n} from "../../units/format.ts";
import {weakest} from "../evaluate.ts";
import type {Cited} from "../guide.ts";
import type {WorkingStep} from "../recommendation.ts";
import type {LimeMethod, LimeRule} from "./lime-method.ts";
import type {LimeOptions} from "./recommend-lime.ts";

interface Need {
  /** ton/ac in the method's own basis, for the method's own depth. */
  readonly tonPerAcre: number;
  readonly steps: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}

/** The need for lime of a soil that is under its target, before depth, earlier lime and material. */
export function limeNeed(
  method: LimeMethod,
  unit: string,
  pH: UnitValue,
  tests: readonly UnitValue[],
  options: LimeOptions,
): Need {
  const {rule} = method;
  switch (rule.kind) {
    case "lime index lines":
      return byLines(method, rule, unit, bufferFor(method, rule.buffers, unit, tests), options);
    case "exchangeable acidity":
      return byAcidity(method, rule, unit, options);
    case "acidity to target":
      return toTarget(method, rule, unit, pH, bufferFor(method, rule.buffers, unit, tests), options);
  }
}

type Lines = Extract<LimeRule, {kind: "lime index lines"}>;

function byLines(
  method: LimeMethod,
  {lines, range}: Lines,
  unit: string,
  buffer: UnitValue,
  {targetPh}: LimeOptions,
): Need {
  const found = lines.find((line) => line.targetPh === targetPh);
  if (!found) throw noTarget(method, unit, targetPh, lines);
  const {a, b} = found;
  // Indexes are read to a tenth of a point: 6.4 is 64, not 64.00000000000001.
  const index = Math.round(buffer.value * 1000) / 100;
  const tons = a.value - b.value * index;
  const [low, high] = range;
  const issues: Issue[] =
    index >= low && index <= high
      ? []
      : [
          {
            code: "lime/outside-table",
            severity: "warning",
            message: `The lime test index of ${n(index)} in unit "${unit}" is outside the ${low} to ${high} of the printed table.`,
            place: {featureId: unit},
            hint:
              index < low
                ? "Lime in two steps and test again after the first."
                : "Little or no lime is needed; check the buffer.",
          },
        ];
  const steps = [
    bufferStep(buffer),
    step(`lime test index: ${n(buffer.value)} × 10`, index, "", method, []),
    step(
      `to pH ${n(targetPh)}: ${n(a.value)} − ${n(b.value)} × ${n(index)}${tons > 0 ? "" : `, which is not above zero: no lime is due`}`,
      Math.max(0, tons),
      "ton/ac",
      method,
      [a, b],
    ),
  ];
  return {tonPerAcre: Math.max(0, tons), steps, issues};
}

type Acidity = Extract<LimeRule, {kind: "exchangeable acidity"}>;

function byAcidity(method: LimeMethod, {targets}: Acidity, unit: string, {targetPh, acidityMeq}: LimeOptions): Need {
  const target = targets.find((one) => one.targetPh === targetPh);
  if (!target) throw noTarget(method, unit, targetPh, targets);
  if (acidityMeq === undefined || !(acidityMeq >= 0 && acidityMeq <= 100)) {
    throw new FieldError(
      "lime/no-acidity",
      `Unit "${unit}" has no exchangeable acidity, which ${method.cite} works from.`,
      {
        place: {featureId: unit},
        hint: "Give it in meq/100 g from the laboratory's report.",
      },
    );
  }
  const {perMeq, small} = target;
  const isSmall = small !== undefined && acidityMeq < small.below.value;
  const lb = isSmall ? small.lbPerAcre.value : acidityMeq * perMeq.value;
  const text = isSmall
    ? `to pH ${n(targetPh)}: acidity ${n(acidityMeq)} is under ${n(small.below.value)}, so ${n(lb)} lb`
    : `to pH ${n(targetPh)}: ${n(acidityMeq)} × ${n(perMeq.value)} lb`;
  const tonPerAcre = lb / POUNDS_PER_SHORT_TON;
  const given: WorkingStep = {
    text: "exchangeable acidity",
    value: acidityMeq,
    unit: "meq/100 g",
    source: "lab result",
    basis: "user",
  };
  return {
    tonPerAcre,
    steps: [
      given,
      step(text, lb, "lb/ac", method, isSmall ? [small.below, small.lbPerAcre] : [perMeq]),
      step(`in tons: ${n(lb)} ÷ ${n(POUNDS_PER_SHORT_TON)}`, tonPerAcre, "ton/ac", method, []),
    ],
    issues: [],
  };
}

type ToTarget = Extract<LimeRule, {kind: "acidity to target"}>;

function toTarget(
  method: LimeMethod,
  {startPh, perPhUnit}: ToTarget,
  unit: string,
  pH: UnitValue,
  buffer: UnitValue,
  {targetPh}: LimeOptions,
): Need {
  if (!(targetPh < startPh.value)) {
    throw new FieldError(
      "lime/target",
      `${method.cite} cannot lime to pH ${n(targetPh)}: its buffer starts at ${n(startPh.value)}.`,
      {
        place: {featureId: unit},
        hint: `Choose a target under ${n(startPh.value)}.`,
      },
    );
  }
  const acidity = Math.max(0, perPhUnit.value * (startPh.value - buffer.value));
  const tonPerAcre = (acidity * (targetPh - pH.value)) / (startPh.value - pH.value);
  return {
    tonPerAcre,
    steps: [
      bufferStep(buffer),
      step(`acidity: ${n(perPhUnit.value)} × (${n(startPh.value)} − ${n(buffer.value)})`, acidity, "meq", method, [
        perPhUnit,
        startPh,
      ]),
      step(
        `to pH ${n(targetPh)}: ${n(acidity)} × (${n(targetPh)} − ${n(pH.value)}) ÷ (${n(startPh.value)} − ${n(pH.value)})`,
        tonPerAcre,
        "ton/ac",
        method,
        [startPh],
      ),
    ],
    issues: [],
  };
}

/** The unit's buffer reading, by one of the buffers the method was calibrated with. */
function bufferFor(
  method: LimeMethod,
  buffers: readonly Method[],
  unit: string,
  tests: readonly UnitValue[],
): UnitValue {
  const read = tests.filter(({analyte}) => analyte === "buffer pH");
  const found = read.find((test) => buffers.includes(test.method));
  if (found) return found;
  const [other] = read;
  throw new FieldError(
    "lime/buffer",
    other
      ? `${method.cite} is for the ${buffers.join(" or ")} buffer; unit "${unit}" was read by ${other.method}.`
      : `Unit "${unit}" needs lime and has no buffer pH.`,
    {
      place: {featureId: unit},
      hint: other
        ? "Use the lime table made for that buffer: buffers read differently."
        : "Ask the lab for the buffer pH.",
    },
  );
}

function noTarget(
  method: LimeMethod,
  unit: string,
  target: number,
  known: readonly {readonly targetPh: number}[],
): FieldError {
  return new FieldError("lime/target", `${method.cite} has no numbers for a target of pH ${target}.`, {
    place: {featureId: unit},
    hint: `Use one of: ${known.map(({targetPh}) => targetPh.toFixed(1)).join(", ")}.`,
  });
}

function bufferStep({method, value, from}: UnitValue): WorkingStep {
  return {text: `buffer pH by ${method}: ${from}`, value, unit: "pH", source: "lab result", basis: "user"};
}

function step(text: string, value: number, unit: string, {cite}: LimeMethod, from: readonly Cited[]): WorkingStep {
  return {
    text,
    value,
    unit,
    source: from.length > 0 ? cite : "arithmetic",
    basis: from.length > 0 ? weakest(from) : "arithmetic",
  };
}
