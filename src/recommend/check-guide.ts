import type {Issue} from "../errors.ts";
import {tell} from "./check-shape.ts";
import type {BuildupRule, Cited, ClassTableRule, EquationRule, Guide, NutrientRule} from "./guide.ts";
import {METHOD_RELATIONS} from "./method-relations.ts";

/**
 * Notes where the parts of a guide contradict one another: crops without limits or removal, limits that fall, classes
 * without a rate, names that stand for nothing.
 */
export function checkGuide(guide: Guide, problems: Issue[]): void {
  const crops = guide.crops.map(({id}) => id);
  if (new Set(crops).size < crops.length) tell(problems, "guide.crops", "names a crop twice");
  for (const [i, id] of crops.entries()) {
    if (id !== id.trim().toLowerCase())
      tell(problems, `guide.crops[${i}].id`, `is "${id}"`, "Write crops in small letters.");
  }
  const nutrients = guide.nutrients.map(({nutrient}) => nutrient);
  if (new Set(nutrients).size < nutrients.length) tell(problems, "guide.nutrients", "has two rules for one nutrient");
  for (const id of guide.conversions ?? []) {
    if (METHOD_RELATIONS.some((relation) => relation.id === id)) continue;
    const ids = METHOD_RELATIONS.map((relation) => relation.id).join(", ");
    tell(problems, "guide.conversions", `names "${id}", which is no known relation`, `Use: ${ids}.`);
  }
  guide.nutrients.forEach((rule, i) => {
    const at = `guide.nutrients[${i}]`;
    const expected = rule.nutrient === "P2O5" ? "P" : "K";
    if (rule.test.analyte !== expected)
      tell(problems, `${at}.test.analyte`, `is "${rule.test.analyte}" in a rule for ${rule.nutrient}`);
    for (const name of rowsOf(rule).flatMap((row) => row.crops)) {
      if (!crops.includes(name)) tell(problems, at, `has a row for "${name}", which is none of the guide's crops`);
    }
    if (rule.kind === "buildup and maintenance") checkBuildup(guide, rule, at, problems);
    else if (rule.kind === "equation") checkEquations(rule, at, problems);
    else checkClasses(guide, rule, at, problems);
  });
}

function rowsOf(rule: NutrientRule): readonly {readonly crops: readonly string[]}[] {
  return rule.kind === "buildup and maintenance" ? rule.limits : rule.rows;
}

function checkBuildup(guide: Guide, rule: BuildupRule, at: string, problems: Issue[]): void {
  const needsCec = rule.buildup.perCec || rule.limits.some((row) => row.cec || row.perCec);
  if (needsCec && !rule.cec) tell(problems, `${at}.cec`, "is missing though limits or buildup depend on CEC");
  if (rule.limits.some((row) => row.cec) && !rule.cec?.boundary) tell(problems, `${at}.cec.boundary`, "is missing");
  rule.limits.forEach((row, i) => {
    if (!rising([row.critical, row.maintenance, ...(row.zero ? [row.zero] : [])])) {
      tell(problems, `${at}.limits[${i}]`, "has limits that do not rise", "Critical, then maintenance, then zero.");
    }
    if (row.group !== undefined && !guide.soilGroups?.names.includes(row.group)) {
      tell(problems, `${at}.limits[${i}].group`, `is "${row.group}", which is none of the guide's soil groups`);
    }
  });
  for (const crop of guide.crops) {
    for (const soil of soilsOf(guide, rule)) {
      const has = rule.limits.some(
        (row) =>
          row.crops.includes(crop.id) && (row.cec ?? soil.cec) === soil.cec && (row.group ?? soil.group) === soil.group,
      );
      const where = [soil.cec && `${soil.cec} CEC`, soil.group].filter(Boolean).join(", ");
      if (!has) tell(problems, `${at}.limits`, `has no row for ${crop.id}${where && `, ${where}`}`);
    }
    needRemoval(guide, crop.id, rule, at, problems);
  }
}

/** Every kind of soil the limits tell apart. */
function soilsOf(guide: Guide, {limits}: BuildupRule) {
  const sides = limits.some((row) => row.cec) ? (["low", "high"] as const) : [undefined];
  const groups = limits.some((row) => row.group) ? (guide.soilGroups?.names ?? []) : [undefined];
  return sides.flatMap((cec) => groups.map((group) => ({cec, group})));
}

function checkEquations(rule: EquationRule, at: string, problems: Issue[]): void {
  rule.rows.forEach((row, i) => {
    const {equation: form} = row;
    if (form.form === "full" && !row.zeroFrom)
      tell(problems, `${at}.rows[${i}].zeroFrom`, "is missing for an equation in full");
    const falls =
      form.form === "per yield"
        ? form.slope.value > 0
        : form.form === "difference"
          ? form.times.value > 0
          : form.perTest.value > 0;
    if (!falls) tell(problems, `${at}.rows[${i}].equation`, "gives more to a richer soil");
    if (
      row.after !== undefined &&
      !rule.rows.some((other) => other.after === undefined && other.crops.some((c) => row.crops.includes(c)))
    ) {
      tell(problems, `${at}.rows[${i}]`, "has no row for its crop after other crops");
    }
  });
}

function checkClasses(guide: Guide, rule: ClassTableRule, at: string, problems: Issue[]): void {
  const count = rule.classes.length;
  rule.scales.forEach(({upTo}, i) => {
    if (upTo.length !== count - 1)
      tell(
        problems,
        `${at}.scales[${i}].upTo`,
        `has ${upTo.length} ends for ${count} classes`,
        "Give one to each class but the last.",
      );
    if (!rising(upTo)) tell(problems, `${at}.scales[${i}].upTo`, "does not rise");
  });
  const scaled = rule.scales.flatMap(({methods}) => methods);
  for (const method of rule.test.methods) {
    if (!scaled.includes(method)) tell(problems, `${at}.scales`, `has no classes for ${method}`);
  }
  rule.rows.forEach((row, i) => {
    if (row.rates.length !== count)
      tell(problems, `${at}.rows[${i}].rates`, `has ${row.rates.length} rates for ${count} classes`);
    if (row.rates.includes("removal")) for (const crop of row.crops) needRemoval(guide, crop, rule, at, problems);
  });
}

function needRemoval(guide: Guide, crop: string, {nutrient}: NutrientRule, at: string, problems: Issue[]): void {
  if (guide.crops.find(({id}) => id === crop)?.removal[nutrient]) return;
  tell(
    problems,
    at,
    `needs the ${nutrient} removal of ${crop}`,
    "Give it with the crop, as 0 where the guide leaves removal out.",
  );
}

function rising(limits: readonly Cited[]): boolean {
  return limits.every(({value}, i) => i === 0 || value >= (limits[i - 1] as Cited).value);
}
