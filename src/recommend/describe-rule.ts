import {needInWords} from "./fit-test.ts";
import type {BuildupRule, ClassTableRule, Equation, EquationRule, Guide, GuideCrop, NutrientRule} from "./guide.ts";
import {cited, list, note, table} from "./markdown.ts";

/** One nutrient's part of a guide's page: what it needs, then every limit, coefficient and equation. */
export function describeRule(rule: NutrientRule, guide: Guide): string[] {
  const needsCec = rule.kind === "buildup and maintenance" && rule.cec;
  const {alsoIn} = rule.test;
  return [
    `## ${rule.nutrient} from soil-test ${rule.test.analyte}`,
    `Needs ${needInWords(rule.test)}${needsCec ? ", and the CEC in meq/100 g" : ""}. Any other method, unit or depth is refused${alsoIn ? `, but that results in ppm are taken as ${alsoIn.rule}` : ""}.`,
    ...rulePart(rule, guide),
  ];
}

function rulePart(rule: NutrientRule, guide: Guide): string[] {
  switch (rule.kind) {
    case "buildup and maintenance":
      return buildupPart(rule, guide);
    case "equation":
      return equationPart(rule);
    case "class table":
      return classPart(rule, guide);
  }
}

function buildupPart(rule: BuildupRule, guide: Guide): string[] {
  const {nutrient, test, limits, buildup, perCropYear, cec} = rule;
  const columns = [
    {head: "CEC, meq/100 g", has: limits.some((row) => row.cec), cell: (r: Row) => cecInWords(rule, r.cec)},
    {
      head: guide.soilGroups?.what ?? "soil group",
      has: limits.some((r) => r.group),
      cell: (r: Row) => r.group ?? "all",
    },
    {head: `critical level, ${test.unitLabel}`, has: true, cell: (r: Row) => cited(r.critical) + byCec(r)},
    {head: "maintenance limit", has: true, cell: (r: Row) => cited(r.maintenance) + byCec(r)},
    {
      head: "nothing due from",
      has: limits.some((r) => r.zero),
      cell: (r: Row) => (r.zero ? cited(r.zero) + byCec(r) : ""),
    },
  ].filter(({has}) => has);
  const notes = [
    ...limits.flatMap((row) => [
      ...note("Critical level", row.critical),
      ...note("Maintenance limit", row.maintenance),
      ...note("Nothing due from", row.zero),
    ]),
    ...note("CEC boundary", cec?.boundary),
    ...note("Buildup", buildup.base),
    ...note("Buildup by CEC", buildup.perCec),
    ...note("Constant", perCropYear),
    ...removalNotes(guide.crops, nutrient),
  ];
  const {fittedFor} = cec ?? {};
  return [
    table(
      ["crops", ...columns.map(({head}) => head)],
      limits.map((row) => [row.crops.join(", "), ...columns.map(({cell}) => cell(row))]),
    ),
    limits.some((row) => row.crops.length < guide.crops.length)
      ? "The highest critical level among the crops of a rotation holds for all of them."
      : "The same for all crops of the guide.",
    table(["soil test", "class", `lb ${nutrient} per acre and crop year`], buildupClasses(rule)),
    ...buildupYears(rule),
    removalTable(guide, nutrient),
    ...(notes.length > 0 ? [list(notes)] : []),
    ...(fittedFor
      ? [
          `The buildup slope was fitted for CEC ${fittedFor.from} to ${fittedFor.to} (${fittedFor.basis}). Outside it the rate carries a warning; a setting holds the CEC within that range, which is not part of the guide.`,
        ]
      : []),
  ];
}

type Row = BuildupRule["limits"][number];

function buildupClasses(rule: BuildupRule): string[][] {
  const {classes, drawdownClass, limitIncluded, limits} = rule;
  const zero = limits.some((row) => row.zero);
  const kept = removalEquation(rule);
  const below = ["below the critical level", classes[0], `${buildupEquation(rule)} + ${kept}`];
  if (zero) {
    return [
      below,
      ["from there to the maintenance limit", classes[1], kept],
      ["from there to where nothing is due", drawdownClass ?? "drawdown", `(${kept}), running out in a straight line`],
      ["from there on", classes[2], "0"],
    ];
  }
  return limitIncluded
    ? [
        below,
        ["from there up to and at the maintenance limit", classes[1], kept],
        ["above the maintenance limit", classes[2], "0"],
      ]
    : [
        below,
        ["from there to the maintenance limit", classes[1], kept],
        ["at the maintenance limit and above", classes[2], "0"],
      ];
}

function buildupEquation({test, buildup: {base, perCec, years, squareRoot}}: BuildupRule): string {
  const slope = perCec ? `(${cited(base)} + ${cited(perCec)} × CEC)` : cited(base);
  const gap = squareRoot ? `(√critical level − √${test.analyte})` : `(critical level − ${test.analyte})`;
  return `${gap} × ${slope}${years?.divides ? " ÷ years" : ""}`;
}

function buildupYears({buildup: {years}}: BuildupRule): string[] {
  if (!years) return [];
  const {usual, choices, divides} = years;
  const which = choices && choices.length > 1 ? `, or ${choices.filter((y) => y !== usual.value).join(" or ")}` : "";
  return [
    divides
      ? `Buildup is spread over ${cited(usual)} years${which}.`
      : `The buildup above is the part of one year out of ${cited(usual)}; over other years it is stretched in proportion, and said to be the user's.`,
  ];
}

function removalEquation({perCropYear}: BuildupRule): string {
  return `yield goal × removal${perCropYear ? ` + ${cited(perCropYear)}` : ""}`;
}

const byCec = ({perCec}: Row): string => (perCec ? ` + ${cited(perCec)} × CEC` : "");

function cecInWords({cec}: BuildupRule, side: "low" | "high" | undefined): string {
  if (!cec?.boundary || !side) return "all";
  const [low, high] = cec.low === "below" ? ["below", "at least"] : ["at most", "above"];
  return `${side === "low" ? low : high} ${cited(cec.boundary)}`;
}

function equationPart({nutrient, test, rows}: EquationRule): string[] {
  const notes = rows.flatMap(({zeroFrom, least}) => [
    ...note("Nothing due from", zeroFrom),
    ...note("At least", least),
  ]);
  return [
    table(
      ["crop", "method", `lb ${nutrient} per acre`, `nothing due from, ${test.unitLabel}`, "at least"],
      rows.map((row) => [
        row.crops.join(", ") + (row.after ? ` after ${row.after}` : ""),
        (row.methods ?? test.methods).join(", "),
        equationInWords(row.equation, test.analyte),
        row.zeroFrom ? cited(row.zeroFrom) : "where it falls to zero",
        row.least ? cited(row.least) : "",
      ]),
    ),
    "Never below zero.",
    ...(notes.length > 0 ? [list(notes)] : []),
  ];
}

function equationInWords(equation: Equation, analyte: string): string {
  switch (equation.form) {
    case "per yield":
      return `(${cited(equation.intercept)} − ${cited(equation.slope)} × ${analyte}) × yield goal`;
    case "difference":
      return `(${cited(equation.level)} − ${analyte}) × ${cited(equation.times)}`;
    case "full": {
      const {constant, perYield, perTest, perBoth} = equation;
      return `${cited(constant)} + ${cited(perYield)} × yield goal − ${cited(perTest)} × ${analyte} − ${cited(perBoth)} × yield goal × ${analyte}`;
    }
  }
}

function classPart(rule: ClassTableRule, guide: Guide): string[] {
  const {nutrient, test, classes, scales, rows} = rule;
  const notes = [
    ...rows.flatMap(({crops, rates}) =>
      rates.flatMap((rate, i) => (rate === "removal" ? [] : note(`${crops.join(" and ")}, ${classes[i]}`, rate))),
    ),
    ...removalNotes(guide.crops, nutrient),
  ];
  return [
    table(
      [`class, ${test.unitLabel}`, ...scales.map(({methods}) => methods.join(", "))],
      classes.map((name, i) => [name, ...scales.map(({upTo}) => rangeInWords(upTo, i))]),
    ),
    "Soil tests are compared in whole numbers: 10.4 falls into a class that ends at 10.",
    table(
      [`lb ${nutrient} per acre`, ...classes],
      rows.map((row) => [
        row.together ? `${row.crops.join(" and ")}, one application for both` : row.crops.join(", "),
        ...row.rates.map((rate) => (rate === "removal" ? "yield goal × removal" : cited(rate))),
      ]),
    ),
    removalTable(guide, nutrient),
    ...(notes.length > 0 ? [list(notes)] : []),
  ];
}

function rangeInWords(upTo: ClassTableRule["scales"][number]["upTo"], i: number): string {
  const from = i === 0 ? 0 : (upTo[i - 1]?.value ?? 0) + 1;
  const end = upTo[i];
  return end ? `${from} to ${cited(end)}` : `${from} and more`;
}

function removalTable({crops, removalSets = []}: Guide, nutrient: NutrientRule["nutrient"]): string {
  return table(
    ["crop", `lb ${nutrient} removed per unit of harvest`, ...removalSets.map(({id, title}) => `${title} (\`${id}\`)`)],
    crops.flatMap(({id, yieldUnit, removal}) => {
      const own = removal[nutrient];
      if (!own) return [];
      const others = removalSets.map((set) => {
        const other = set.removal[id]?.[nutrient];
        return other ? cited(other) : "";
      });
      return [[`${id}, ${yieldUnit.split("/")[0]}`, cited(own), ...others]];
    }),
  );
}

function removalNotes(crops: readonly GuideCrop[], nutrient: NutrientRule["nutrient"]): string[] {
  return crops.flatMap(({id, removal}) => note(`Removal of ${id}`, removal[nutrient]));
}
