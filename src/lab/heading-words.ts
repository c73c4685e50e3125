import {ANALYTES} from "./analytes.ts";
import {bareHeading} from "./lab-mapping.ts";
import type {Analyte, Method, SoilTestUnit} from "./soil-test.ts";

/** What a column is for, where it holds no result. */
export type Role =
  | "sample id"
  | "lab number"
  | "field"
  | "date"
  | "depth"
  | "analyte"
  | "value"
  | "unit"
  | "method"
  | "place"
  | "owner";

/** What the words of a heading say. All of it is a proposal: a heading is not a method. */
export interface HeadingReading {
  readonly role?: Role;
  readonly analyte?: Analyte;
  readonly unit?: SoilTestUnit;
  readonly method?: Method;
  /** Why the column is no result although it looks like one. */
  readonly passedOver?: "oxide" | "base saturation" | "rating" | "recommendation";
}

/**
 * Reads one heading: role, analyte, unit and method, each only where its words are there.
 *
 * Case, underscores, hyphens and brackets do not matter. `P1` and `P2` are the weak and the strong Bray test.
 */
export function readHeading(heading: string): HeadingReading {
  const words = ` ${plainWords(heading)} `;
  const role = ROLES[words.trim()];
  if (role) return {role};
  const isIndex = /\b(lime|lime test|buffer) index\b|\blti\b/.test(words);
  if (/\b(rec|recs|recommended|recommendation|need|needed|apply|requirement)\b/.test(words)) {
    return {passedOver: "recommendation"};
  }
  if (!isIndex && /\b(rating|level|interp|interpretation|class|indx|index|sufficiency|remark|comment)\b/.test(words)) {
    return {passedOver: "rating"};
  }
  if (/p2o5|k2o/.test(words)) return {passedOver: "oxide"};
  const unit = unitOf(words);
  const analyte = analyteOf(words);
  const isCation = analyte === "K" || analyte === "Ca" || analyte === "Mg" || analyte === undefined;
  if (/\b(bs|sat|saturation)\b/.test(words) || (isCation && analyte && unit === "%")) {
    return {passedOver: "base saturation"};
  }
  if (!analyte) return {};
  const method = methodOf(words, analyte);
  return {analyte, ...(unit && {unit}), ...(method && {method})};
}

/** The analyte some words name, as in "Mehlich 3 P ppm" or "Organic Matter LOI %"; undefined when they name none. */
export function analyteOf(text: string): Analyte | undefined {
  const words = ` ${plainWords(text)} `;
  if (/ (buffer|buf|bph|b ph|lti|sikora|smp|woodruff|adams evans) /.test(words) || / lime (test )?index /.test(words)) {
    return "buffer pH";
  }
  let rest = words;
  for (const [pattern] of UNIT_WORDS) rest = rest.replace(pattern, " ");
  rest = rest.replace(NOISE, " ").replaceAll(/\s+/g, " ").trim();
  if (rest === "" && / loi | loss on ignition /.test(words)) return "OM";
  return ANALYTE_WORDS[rest];
}

/** The method some words name for an analyte; undefined when they name none, or none that is for it. */
export function methodOf(text: string, analyte: Analyte): Method | undefined {
  const words = ` ${plainWords(text)} `;
  const allowed = ANALYTES[analyte].methods;
  const found = METHOD_WORDS.find(([pattern, method]) => pattern.test(words) && allowed.includes(method))?.[1];
  if (!found) return undefined;
  if (found === "ammonium acetate" && MOIST.test(words)) return "ammonium acetate field-moist";
  if (found !== "mehlich-3") return found;
  if (MOIST.test(words) && analyte === "K") return "mehlich-3 field-moist";
  if (/ (icp|icap|icp oes|icp aes) /.test(words)) return "mehlich-3 icp";
  const isColor = / (colorimetric|colorimetry|colou?r|col|spectro|spectrophotometric) /.test(words);
  return isColor && allowed.includes("mehlich-3 colorimetric") ? "mehlich-3 colorimetric" : "mehlich-3";
}

function unitOf(words: string): SoilTestUnit | undefined {
  return UNIT_WORDS.find(([pattern]) => pattern.test(words))?.[1];
}

function plainWords(text: string): string {
  return bareHeading(text)
    .replaceAll(/(?<=\w)-(?=[a-z])|(?<=[a-z])-(?=\w)|\s-\s|\./g, " ")
    .replaceAll(/\s+/g, " ")
    .trim();
}

const UNIT_WORDS: readonly (readonly [pattern: RegExp, unit: SoilTestUnit])[] = [
  [/ (ppm|mg\/kg|mg kg-1|mg kg 1) /, "mg/kg"],
  [/ (lbs?\/(ac|acre|a)|lbs? per (ac|acre)|lbs? ac|pp2m|#\/(ac|acre|a)) /, "lb/ac"],
  [/ (meq\/100 ?gm?|meq 100 ?gm?|meq|cmolc?\s?\+?\s?\/kg|cmolc? kg(-1| 1)?) /, "meq/100 g"],
  [/ (pct|percent) | % |%/, "%"],
  [/ (s u|su|none|std units) /, "pH"],
];

const MOIST = / (field moist|moist|slurry|undried) /;

const METHOD_WORDS: readonly (readonly [pattern: RegExp, method: Method])[] = [
  [/ (bray p? ?(1|i)|bray1|bp1|p1|weak bray|p 1) /, "bray-1"],
  [/ (bray p? ?(2|ii)|bray2|bp2|p2|strong bray|p 2) /, "bray-2"],
  [/ (olsen|bicarb|bicarbonate|nahco3) /, "olsen"],
  [/ (m3|mehlich ?(3|iii)|mehlich3|m iii) /, "mehlich-3"],
  [/ (m1|mehlich ?(1|i)|mehlich1) /, "mehlich-1"],
  [/ (nh4oac|nh4ac|nh4 acetate|ammonium acetate|aa) /, "ammonium acetate"],
  [/ resin /, "resin"],
  [/ dtpa( sorbitol)? /, "dtpa"],
  [/ (hot water|hw) /, "hot water"],
  [/ (mcp|monocalcium phosphate|ca phosphate) /, "monocalcium phosphate"],
  [/ (cacl2|salt|0 01 m cacl2) /, "cacl2"],
  [/ (water|h2o|1 1|1to1) /, "water 1:1"],
  [/ sikora( ?2)? /, "sikora"],
  [/ smp /, "smp"],
  [/ woodruff /, "woodruff"],
  [/ adams evans /, "adams-evans"],
  [/ mehlich( buffer)? /, "mehlich buffer"],
  [/ (loi|loss on ignition|l o i) /, "loss on ignition"],
  [/ (walkley|walkley black|wb) /, "walkley-black"],
  [/ (sum|summation|sum of cations|calculated|calc|estimated|est) /, "sum of cations"],
  [/ (displacement|measured) /, "displacement"],
];

/** Words that say nothing of what was measured, once unit and method have been read. */
const NOISE =
  /\b(soil|test|tests|result|results|extractable|extr|available|avail|exchangeable|exch|value|conc|concentration|by|in|of|the|icp|icap|oes|aes|colorimetric|colorimetry|color|colour|col|spectro|spectrophotometric|m3|m1|mehlich ?(3|iii|1|i)?|mehlich3|mehlich1|bray ?(1|2|i|ii)?|bray1|bray2|bp1|bp2|weak|strong|olsen|bicarb|bicarbonate|nahco3|nh4oac|nh4ac|nh4|acetate|ammonium|aa|resin|dtpa|sorbitol|hot water|hw|mcp|monocalcium|phosphate|cacl2|salt|water|h2o|1 1|1to1|0 01 m|loi|loss on ignition|walkley|black|wb|sum|summation|cations|calculated|calc|estimated|est|displacement|measured|field|moist|slurry|undried|dried|dry)\b/g;

const ANALYTE_WORDS: Readonly<Record<string, Analyte>> = words({
  P: ["p", "p1", "p2", "p 1", "p 2", "phosphorus", "phosphorous", "phos", "phosphorus p", "p phosphorus"],
  K: ["k", "potassium", "potassium k", "k potassium"],
  Ca: ["ca", "calcium", "calcium ca", "ca calcium"],
  Mg: ["mg", "magnesium", "magnesium mg", "mg magnesium"],
  S: ["s", "sulfur", "sulphur", "so4 s", "sulfate s", "sulfur s", "so4s"],
  Zn: ["zn", "zinc", "zinc zn"],
  B: ["b", "boron", "boron b"],
  Mn: ["mn", "manganese", "manganese mn"],
  Fe: ["fe", "iron", "iron fe"],
  Cu: ["cu", "copper", "copper cu"],
  pH: ["ph", "wph", "phw", "ph w"],
  "buffer pH": ["buffer ph", "bph"],
  OM: ["om", "o m", "organic matter", "som", "org matter", "organic matter om", "om organic matter"],
  CEC: [
    "cec",
    "c e c",
    "tec",
    "t e c",
    "cation exchange capacity",
    "cation exchange capacity cec",
    "cation exch capacity",
  ],
});

const ROLES: Readonly<Record<string, Role>> = words({
  "sample id": [
    "sample",
    "sample id",
    "sampleid",
    "sample no",
    "sample number",
    "samplenumber",
    "sample name",
    "samp",
    "samp id",
    "id",
    "bag",
    "bag id",
    "bag no",
    "grid",
    "grid id",
    "point",
    "point id",
    "pt",
    "site",
    "site id",
    "label",
    "customer sample id",
    "client sample id",
    "grower sample id",
    "sample identification",
    "sample description",
    "zone id",
  ],
  "lab number": [
    "lab no",
    "lab number",
    "labnum",
    "lab id",
    "lab sample id",
    "log",
    "log no",
    "lab",
    "report no",
    "report number",
  ],
  field: ["field", "field id", "field name", "fieldname"],
  date: ["date", "date sampled", "sample date", "sampled", "date received", "date reported", "report date", "year"],
  depth: ["depth", "sample depth", "depth in", "depth cm", "depth inches", "depthid", "depth id", "top", "bottom"],
  analyte: ["analyte", "parameter", "element", "nutrient", "test", "test name", "analysis", "assay", "component"],
  value: ["value", "result", "results", "reading", "reported value", "result value", "amount"],
  unit: ["unit", "units", "uom", "unit of measure", "result unit", "value unit"],
  method: ["method", "test method", "extractant", "procedure", "extraction", "method name", "method code"],
  place: ["lat", "lon", "long", "latitude", "longitude", "x", "y", "easting", "northing", "acres", "area"],
  owner: ["grower", "client", "farm", "customer", "account", "company", "owner"],
});

/** One word list to each name, turned round. */
function words<T extends string>(lists: Readonly<Record<T, readonly string[]>>): Readonly<Record<string, T>> {
  const out: Record<string, T> = Object.create(null);
  for (const [name, spellings] of Object.entries(lists) as [T, readonly string[]][]) {
    for (const spelling of spellings) out[spelling] = name;
  }
  return out;
}
