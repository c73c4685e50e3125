import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {headerState} from "../../src/formats/header-state.ts";
import {columnsToPaste, proposeYieldColumns} from "../../src/formats/propose-yield-columns.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {readYieldHeading} from "../../src/formats/yield-heading-words.ts";

const shared = new URL("../../../shared/data/", import.meta.url);
const here = existsSync(shared);
const propose = (header: string, ...rows: string[]) =>
  proposeYieldColumns(
    header.split(";"),
    rows.map((row) => row.split(";")),
  );

describe("a heading of a yield log", () => {
  it.each([
    ["Flow (lb/s)", "flow", "lb/s"],
    ["flow_lb_s", "flow", "lb/s"],
    ["Grain Flow [kg/s]", "flow", "kg/s"],
    ["Mass Flow Rate, lbs per sec", "flow", "lb/s"],
    ["mass_lb", "mass", "lb"],
    ["Distance(ft)", "distance", "ft"],
    ["distance_in", "distance", "in"],
    ["Dist m", "distance", "m"],
    ["Swath Width (m)", "swath", "m"],
    ["headerWidthFt", "swath", "ft"],
    ["Interval s", "interval", "s"],
    ["gps_time_s", "time", "s"],
    ["Moisture (%)", "moisture", "%"],
    ["moisture_pct", "moisture", "pct"],
    ["Speed km/h", "speed", "km/h"],
    ["speed_mph", "speed", "mph"],
    ["Ground speed (m/s)", "speed", "m/s"],
    ["Dry yield (bu/ac)", "yield", "bu/ac"],
    ["yield_dry_lb_ac", "yield", "lb/ac"],
    ["Yield t/ha", "yield", "t/ha"],
    ["Yld Mass Dry (kg/ha)", "yield", "kg/ha"],
    ["Longitude", "x", undefined],
    ["lat", "y", undefined],
    ["Time", "time", undefined],
    ["Pass No.", "pass", undefined],
    ["Header State", "header", undefined],
  ])("%s is %s in %s", (heading, role, unit) => {
    expect(readYieldHeading(heading)).toMatchObject({role, ...(unit && {unit})});
    expect(readYieldHeading(heading)?.unit).toBe(unit);
  });

  it.each(["Elevation (ft)", "heading_deg", "Crop", "elevation_m", "Field", "Satellites", "flow sensor id", ""])(
    "%s is none that cleaning has a use for",
    (heading) => {
      expect(readYieldHeading(heading)).toBeUndefined();
    },
  );

  it("tells yield as cut from yield at standard moisture", () => {
    expect(readYieldHeading("yield_wet_bu_ac")?.moisture).toBe("wet");
    expect(readYieldHeading("Yield Volume Dry (bu/ac)")?.moisture).toBe("dry");
    expect(readYieldHeading("Yield")?.moisture).toBeUndefined();
  });

  it("with a unit of something else in brackets keeps its role and has no unit", () => {
    expect(readYieldHeading("Flow (lb)")).toEqual({role: "flow"}); // pounds are no flow
    expect(readYieldHeading("Distance (s)")).toEqual({role: "distance"});
  });
});

describe("a whole log", () => {
  it("whose headings say everything is proposed without a question", () => {
    const {columns, questions, taken} = propose(
      "Longitude;Latitude;Time (s);Flow (lb/s);Distance (ft);Interval (s);Swath (ft);Moisture (%);Header;Pass",
      "-93.1;42.1;1.0;12.5;6.6;1;30;18.1;down;1",
    );
    expect(questions).toEqual([]);
    expect(columns).toEqual({
      x: "Longitude",
      y: "Latitude",
      time: {column: "Time (s)", unit: "s"},
      flow: {column: "Flow (lb/s)", unit: "lb/s"},
      distance: {column: "Distance (ft)", unit: "ft"},
      interval: {column: "Interval (s)", unit: "s"},
      swath: {column: "Swath (ft)", unit: "ft"},
      moisture: {column: "Moisture (%)", unit: "%"},
      header: "Header",
      pass: "Pass",
    });
    expect(taken).toContain('grain flow from "Flow (lb/s)" in lb/s');
  });

  it("is asked about every unit it does not name, never guessed at", () => {
    const proposal = propose("lon;lat;flow;distance;swath;speed", "-93.1;42.1;12.5;6.6;30;4.5");
    expect(proposal.questions.map(({role, about}) => [role, about])).toEqual([
      ["flow", "unit"],
      ["distance", "unit"],
      ["swath", "unit"],
      ["speed", "unit"],
    ]);
    expect(proposal.questions[0]).toMatchObject({
      message: 'Column "flow" (grain flow) names no unit.',
      choices: ["lb/s", "kg/s", "t/h"],
    });
    expect(columnsToPaste(proposal)).toBe(
      '"columns": { "x": "lon", "y": "lat", "flow": { "column": "flow", "unit": "lb/s | kg/s | t/h" }, ' +
        '"distance": { "column": "distance", "unit": "ft | in | m | cm" }, ' +
        '"swath": { "column": "swath", "unit": "ft | in | m | cm" }, ' +
        '"speed": { "column": "speed", "unit": "mph | km/h | m/s | ft/s" } }',
    );
  });

  it("with moistures above 1 has them in percent: as fractions they could not be", () => {
    expect(propose("lon;lat;flow_kg_s;moisture", "-93;42;5;18").columns.moisture).toMatchObject({unit: "%"});
    const doubtful = propose("lon;lat;flow_kg_s;moisture", "-93;42;5;0.18");
    expect(doubtful.questions).toMatchObject([{role: "moisture", choices: ["%", "fraction"]}]);
  });

  it("has its clock read where it is written so that only one reading fits", () => {
    const unit = (...cells: string[]) =>
      propose("lon;lat;flow_kg_s;time", ...cells.map((c) => `-93;42;5;${c}`)).columns.time;
    expect(unit("2024-10-03 14:02:11", "2024-10-03 14:02:12")).toMatchObject({unit: "y-m-d"});
    expect(unit("14:02:11", "14:02:12")).toMatchObject({unit: "h:m:s"});
    expect(unit("10/23/2024 14:02:11", "10/23/2024 14:02:12")).toMatchObject({unit: "m/d/y"});
    expect(unit("23/10/2024 14:02:11", "23/10/2024 14:02:12")).toMatchObject({unit: "d/m/y"});
  });

  it("is asked whether the month or the day comes first where both fit", () => {
    const {questions} = propose(
      "lon;lat;flow_kg_s;time",
      "-93;42;5;10/03/2024 14:02:11",
      "-93;42;5;10/03/2024 14:02:12",
    );
    expect(questions).toMatchObject([{role: "time", about: "unit", choices: ["m/d/y", "d/m/y"]}]);
    expect(questions[0]?.message).toContain("10/03/2024 14:02:11");
  });

  it("has no time in a date without one, and says so", () => {
    const {columns, passedOver} = propose("lon;lat;flow_kg_s;timestamp", "-93;42;5;2024/10/03", "-93;42;5;2024/10/03");
    expect(columns.time).toBeUndefined();
    expect(passedOver).toEqual(['"timestamp" (a date without a time of day)']);
  });

  it("with two columns for one thing is asked which", () => {
    const {questions} = propose("lon;lat;flow_kg_s;swath_ft;header width ft", "-93;42;5;30;30");
    expect(questions).toMatchObject([{about: "column", role: "swath", choices: ["swath_ft", "header width ft"]}]);
  });

  it("without position, or without grain, is asked for them", () => {
    expect(propose("speed_mph;flow_kg_s", "4;5").questions.map(({role}) => role)).toEqual(["x", "y"]);
    expect(propose("lon;lat;speed_mph", "-93;42;4").questions).toMatchObject([
      {about: "measure", message: "No heading is a known word for grain flow, grain mass or yield."},
    ]);
  });

  it("with yield as cut alone is asked, for it is not what the map shows", () => {
    expect(propose("lon;lat;yield_wet_bu_ac", "-93;42;180").questions).toMatchObject([
      {about: "column", role: "yield"},
    ]);
    const both = propose("lon;lat;yield_wet_bu_ac;yield_dry_bu_ac", "-93;42;180;175");
    expect(both.columns.yield).toMatchObject({column: "yield_dry_bu_ac"});
    expect(both.questions).toEqual([]);
  });

  it("leaves out a header column whose words it cannot read", () => {
    const {columns, passedOver} = propose("lon;lat;flow_kg_s;header", "-93;42;5;3F");
    expect(columns.header).toBeUndefined();
    expect(passedOver).toEqual(['"header" ("3F" is no state of a header)']);
  });
});

describe("the state of a header", () => {
  it("is read from the words in use", () => {
    expect(["down", "In", "1", "TRUE", "lowered"].map(headerState)).toEqual([1, 1, 1, 1, 1]);
    expect(["up", "Out", "0", "false", "raised"].map(headerState)).toEqual([0, 0, 0, 0, 0]);
    expect(headerState("")).toBeNaN();
    expect(headerState("perhaps")).toBeUndefined();
  });
});

describe.skipIf(!here)("real logs (skipped: no shared data)", () => {
  if (!here) return;
  const open = (path: string) => {
    const {header, rows} = readTable(new Uint8Array(readFileSync(new URL(path, shared))), path).value;
    return proposeYieldColumns(header, rows.slice(0, 500));
  };

  it("of corn, in pounds and inches, are read whole", () => {
    const {columns, questions} = open("minnesota_corn/yield_log_2011.csv");
    expect(questions).toEqual([]);
    expect(columns).toMatchObject({
      ...{x: "lon", y: "lat"},
      flow: {column: "flow_lb_s", unit: "lb/s"},
      distance: {column: "distance_in", unit: "in"},
      time: {column: "gps_time_s", unit: "s"},
    });
  });

  it("of wheat, with mass or with wet and dry yield, are read whole", () => {
    const masses = open("montana_wheat/yield_2016.csv");
    expect(masses.questions).toEqual([]);
    expect(masses.columns).toMatchObject({mass: {unit: "lb"}, swath: {unit: "in"}, yield: {column: "yield_bu_ac"}});
    const flows = open("montana_wheat/yield_2018.csv");
    expect(flows.questions).toEqual([]);
    expect(flows.columns).toMatchObject({header: "header", yield: {column: "yield_dry_bu_ac", unit: "bu/ac"}});
    expect(flows.columns.time).toBeUndefined();
  });
});
