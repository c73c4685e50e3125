import {describe, expect, it} from "vitest";
import {answered} from "../../web/files/answers.ts";
import {read, write} from "../../web/stations/job-path.ts";

describe("a setting of a job", () => {
  const job = {field: {name: "A"}, products: [{analysis: "11-52-0"}, {analysis: "0-0-60"}], zones: {count: 4}};

  it("is written where it belongs, and the job it came from stays as it was", () => {
    const before = JSON.stringify(job);
    const next = write(job, ["sampling", "grid", "cellArea"], "5 ac");
    expect(read(next, ["sampling", "grid", "cellArea"])).toBe("5 ac");
    expect(read(next, ["zones", "count"])).toBe(4);
    expect(JSON.stringify(job)).toBe(before);
  });

  it("is taken out with the section it leaves empty", () => {
    expect(write(job, ["zones", "count"], undefined)).toEqual({field: job.field, products: job.products});
    expect(write({zones: {count: 4, calm: 0.1}}, ["zones", "count"], undefined)).toEqual({zones: {calm: 0.1}});
    expect(write({seed: 1}, ["seed"], undefined)).toEqual({});
  });

  it("can be one of a list", () => {
    expect(read(write(job, ["products", 1, "price"], "440 $/ton"), ["products", 1])).toEqual({
      analysis: "0-0-60",
      price: "440 $/ton",
    });
    expect(read(write(job, ["products", 0], undefined), ["products"])).toEqual([{analysis: "0-0-60"}]);
  });
});

describe("an answer to what a file leaves open", () => {
  it("stands with the column of a yield log that it is about", () => {
    const settings = {crop: "corn", columns: {x: "Lon", flow: "Flow"}};
    const unit = {about: "unit", role: "flow", message: "", choices: ["lb/s", "kg/s"]};
    expect(answered(settings, "yield", [unit], ["kg/s"])).toEqual({
      crop: "corn",
      columns: {x: "Lon", flow: {column: "Flow", unit: "kg/s"}},
    });
    const which = {about: "column", role: "swath", message: "", choices: ["Width", "Header"]};
    const of = {about: "unit", role: "swath", message: "", choices: ["ft", "m"]};
    expect(answered(settings, "yield", [which, of], ["Width", "ft"]).columns).toMatchObject({
      swath: {column: "Width", unit: "ft"},
    });
  });

  it("is kept by column for a lab report, several answers on one column together", () => {
    const questions = [
      {about: "unit", column: "P", message: "", choices: []},
      {about: "method", column: "P", message: "", choices: []},
      {about: "depth", message: "", choices: []},
      {about: "sample id", message: "", choices: []},
    ];
    expect(answered({}, "lab", questions, ["ppm", "mehlich-3 icp", "8 in", "Bag"])).toEqual({
      answers: [{column: "P", unit: "ppm", method: "mehlich-3 icp"}],
      depth: "8 in",
      sampleId: "Bag",
    });
  });

  it("is left out where nothing was answered", () => {
    expect(answered({unit: "m"}, "elevation", [{about: "unit", message: "", choices: []}], [""])).toEqual({unit: "m"});
  });
});
