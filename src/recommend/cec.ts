import {FieldError} from "../errors.ts";
import type {Given} from "./evaluate.ts";
import type {Guide} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";

/**
 * The unit's own CEC as a line of the working, or else the one given for the field.
 *
 * @throws {FieldError} `recommend/no-cec`, `recommend/bad-cec`.
 */
export function cecStep(guide: Guide, {unit, tests, options}: Given): WorkingStep {
  const test = tests.find(({analyte}) => analyte === "CEC");
  const value = test?.value ?? options.cecMeq;
  if (value === undefined) {
    throw new FieldError("recommend/no-cec", `Unit "${unit}" has no CEC, which ${guide.cite} needs for potassium.`, {
      place: {featureId: unit},
      hint: "Name the CEC column of the lab report, or give one CEC for the field.",
    });
  }
  if (!(value > 0 && value <= 100)) {
    throw new FieldError("recommend/bad-cec", `A CEC of ${value} meq/100 g is not possible.`, {
      place: {featureId: unit},
      hint: "Give the CEC in meq/100 g; cropland has about 2 to 45.",
    });
  }
  return {
    text: test ? `CEC by ${test.method}: ${test.from}` : "CEC: one value for the whole field",
    value,
    unit: "meq/100 g",
    source: test ? "lab result" : "user's setting",
    basis: "user",
  };
}
