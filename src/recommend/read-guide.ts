import {FieldError, type Issue} from "../errors.ts";
import {checkGuide} from "./check-guide.ts";
import type {Guide, GuideCrop, NutrientRule} from "./guide.ts";
import {type GuideFile, guideFile} from "./guide-file.ts";

/**
 * A user's own guide from a data file, with everything a built-in guide can do.
 *
 * Numbers may be plain, and are then the user's own, or `{"value", "basis", "note"}`. Every problem of the file is told
 * at once, with its path.
 *
 * @param data - The parsed JSON.
 * @param file - Named in errors.
 * @throws {FieldError} `guide/not-valid`, with one issue for each further problem.
 */
export function readGuide(data: unknown, file: string): Guide {
  const problems: Issue[] = [];
  const read = guideFile(data, "guide", problems);
  if (problems.length === 0) {
    const guide = guideOf(read);
    checkGuide(guide, problems);
    if (problems.length === 0) return guide;
  }
  const [first, ...others] = problems.map((problem) => ({...problem, place: {file}}));
  const more = others.length > 0 ? ` (and ${others.length} more)` : "";
  throw new FieldError("guide/not-valid", `${file}: ${first?.message.replace(/\.$/, "")}${more}.`, {
    place: {file},
    hint: first?.hint,
    issues: others,
  });
}

function guideOf({example, ...rest}: GuideFile): Guide {
  return {
    ...rest,
    example: {
      tests: example?.tests ?? rest.nutrients.flatMap(exampleTest).concat(EXAMPLE_CEC),
      crops: example?.crops ?? rest.crops.slice(0, 1).map(exampleCrop),
      options: {
        ...(rest.soilGroups && {soilGroup: rest.soilGroups.names[0] as string}),
        ...example?.options,
      },
    },
  };
}

const EXAMPLE_CEC = {
  analyte: "CEC",
  value: 12,
  unit: "meq/100 g",
  method: "sum of cations",
  depthM: 0.2,
  from: "the example's composite",
} as const;

/** A soil at half of what the first number of the rule is: below its first limit, so that the page shows a rate. */
function exampleTest({test, ...rule}: NutrientRule): Guide["example"]["tests"][number][] {
  const level =
    rule.kind === "buildup and maintenance"
      ? rule.limits[0]?.critical.value
      : rule.kind === "class table"
        ? rule.scales[0]?.upTo[0]?.value
        : rule.rows[0]?.zeroFrom?.value;
  const [from, to] = test.depthM;
  const [method] = test.methods;
  if (!method) return [];
  return [
    {
      analyte: test.analyte,
      value: Math.round((level ?? 20) / 2),
      unit: test.unit,
      method,
      depthM: (from + to) / 2,
      from: "the example's composite",
    },
  ];
}

function exampleCrop({id, usualYield: [low, high]}: GuideCrop) {
  return {crop: id, yieldGoal: Math.round((low + high) / 2)};
}
