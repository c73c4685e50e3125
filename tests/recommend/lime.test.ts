import fc from "fast-check";
import {describe, expect, it} from "vitest";
import type {Method} from "../../src/lab/soil-test.ts";
import {enpOf, materialTons} from "../../src/recommend/lime/lime-material.ts";
import {findLimeMethod} from "../../src/recommend/lime/lime-methods.ts";
import {type LimeOptions, recommendLime} from "../../src/recommend/lime/recommend-lime.ts";
import {codes, soilTest} from "./advise.ts";

function lime(id: string, pH: number, buffer: number | undefined, options: LimeOptions, by: Method = "smp") {
  const tests = [soilTest("pH", pH, "water 1:1", 8, "pH")];
  if (buffer !== undefined) tests.push(soilTest("buffer pH", buffer, by, 8, "pH"));
  return recommendLime(findLimeMethod(id), {unit: "Z1", tests, options});
}

describe("E-2567, from memory; its printed table is matched within 0.15 ton", () => {
  it.each([
    ["L01 index 64 to pH 6.8", 6.8, 5.48],
    ["L02 index 64 to pH 6.5", 6.5, 4.72],
    ["L03 index 64 to pH 6.0", 6, 3.86],
  ])("%s is %d t: the line of that target", (_, targetPh, expected) => {
    expect(lime("e-2567", 5.2, 6.4, {targetPh}).tonPerAcre).toBeCloseTo(expected, 9);
  });

  // The table's tons for lime test indexes 68 to 60, as remembered.
  const TABLE = {
    6.8: [1.4, 2.4, 3.4, 4.5, 5.5, 6.5, 7.5, 8.6, 9.6],
    6.5: [1.2, 2.1, 2.9, 3.8, 4.7, 5.5, 6.4, 7.2, 8.1],
    6: [1.0, 1.7, 2.4, 3.1, 3.9, 4.6, 5.3, 6.0, 6.7],
  };
  it("its lines give the whole table", () => {
    for (const [target, tons] of Object.entries(TABLE)) {
      tons.forEach((expected, i) => {
        const found = lime("e-2567", 5, (68 - i) / 10, {targetPh: Number(target)}).tonPerAcre;
        expect(Math.abs(found - expected), `${target} at ${68 - i}`).toBeLessThan(0.15);
      });
    }
  });

  it("L04 half of it for the 4 inches of a no-till soil (halving printed)", () => {
    const found = lime("e-2567", 5.2, 6.4, {targetPh: 6.8, depthIn: 4});
    expect(found.tonPerAcre).toBeCloseTo(2.74, 9);
    expect(found.working.at(-1)?.text).toBe("for 4 in: 5.48 × 4 ÷ 8");
  });

  it("L06 3 inches on its 8-inch table are 0.375 of it (printed 0.38)", () => {
    const [whole, part] = [8, 3].map((depthIn) => lime("e-2567", 5.2, 6.4, {targetPh: 6.8, depthIn}).tonPerAcre);
    expect((part as number) / (whole as number)).toBeCloseTo(0.375, 9);
  });

  it("is due only from 0.2 under the target, or from where the user says", () => {
    expect(lime("e-2567", 6.4, 6.7, {targetPh: 6.5}).tonPerAcre).toBe(0);
    expect(lime("e-2567", 6.31, 6.7, {targetPh: 6.5}).working.at(-1)?.text).toBe(
      "pH 6.31 is not under 6.5 − 0.2: no lime is due",
    );
    expect(lime("e-2567", 6.2, 6.7, {targetPh: 6.5}).tonPerAcre).toBeGreaterThan(0);
    expect(lime("e-2567", 6.4, 6.7, {targetPh: 6.5, slack: 0}).tonPerAcre).toBeGreaterThan(0);
    // A soil that needs none needs no buffer either.
    expect(lime("e-2567", 7.1, undefined, {targetPh: 6.5}).tonPerAcre).toBe(0);
  });

  it("takes a Sikora buffer and refuses one that reads otherwise", () => {
    expect(lime("e-2567", 5.2, 6.4, {targetPh: 6.5}, "sikora").tonPerAcre).toBeCloseTo(4.72, 9);
    expect(() => lime("e-2567", 5.2, 6.1, {targetPh: 6.5}, "mehlich buffer")).toThrow(
      "Bulletin E-2567, lime is for the smp or sikora buffer",
    );
    expect(() => lime("e-2567", 5.2, undefined, {targetPh: 6.5})).toThrow("needs lime and has no buffer pH");
    expect(() => lime("e-2567", 5.2, 6.4, {targetPh: 6.6})).toThrow("no numbers for a target of pH 6.6");
  });

  it("says when the index is outside the printed table, and when the pH is one in salt", () => {
    expect(codes(lime("e-2567", 4.5, 5.8, {targetPh: 6.5}).issues)).toEqual(["lime/outside-table"]);
    const tests = [soilTest("pH", 5.2, "cacl2", 8, "pH"), soilTest("buffer pH", 6.4, "smp", 8, "pH")];
    const found = recommendLime(findLimeMethod("e-2567"), {unit: "Z1", tests, options: {targetPh: 6.5}});
    expect(codes(found.issues)).toEqual(["lime/salt-ph"]);
  });

  it("is never negative and never less for a more acid soil", () => {
    fc.assert(
      fc.property(
        fc.double({min: 5.5, max: 7.4, noNaN: true}),
        fc.double({min: 0, max: 1, noNaN: true}),
        (buffer, more) => {
          const [acid, less] = [buffer, buffer + more].map((b) => lime("e-2567", 5, b, {targetPh: 6.8}).tonPerAcre);
          expect(less).toBeGreaterThanOrEqual(0);
          expect(acid).toBeGreaterThanOrEqual(less as number);
        },
      ),
    );
  });
});

describe("Pennsylvania, equations and amounts printed", () => {
  it.each([
    ["L07 acidity 6 to pH 7: 6×1000 lb", 7, 6, 6000],
    ["L08 acidity 6 to pH 6.5: 6×840 lb", 6.5, 6, 5040],
    ["L09 acidity 3, pH 6.1, to pH 6.5", 6.5, 3, 2000],
  ])("%s", (_, targetPh, acidityMeq, lb) => {
    expect(lime("pennsylvania", 6.1, undefined, {targetPh, acidityMeq}).tonPerAcre).toBeCloseTo(lb / 2000, 9);
  });
  it("is none at the target, and cannot do without the acidity", () => {
    expect(lime("pennsylvania", 6.5, undefined, {targetPh: 6.5, acidityMeq: 3}).tonPerAcre).toBe(0);
    expect(() => lime("pennsylvania", 6.1, 6.2, {targetPh: 6.5})).toThrow("no exchangeable acidity");
  });
});

describe("North Carolina, equation printed", () => {
  const options: LimeOptions = {targetPh: 6};
  it("L10, L11 buffer 6.3, pH 5 to 6: acidity 1.2, 0.75 ton (printed 0.76, a misprint)", () => {
    const found = lime("north-carolina", 5, 6.3, options, "mehlich buffer");
    expect(found.working.find(({text}) => text.startsWith("acidity"))?.value).toBeCloseTo(1.2, 9);
    expect(found.tonPerAcre).toBeCloseTo(0.75, 9);
  });
  it("takes off what is still to work of earlier lime, and stops at none", () => {
    expect(
      lime("north-carolina", 5, 6.3, {...options, residualTonPerAcre: 0.5}, "mehlich buffer").tonPerAcre,
    ).toBeCloseTo(0.25, 9);
    expect(lime("north-carolina", 5, 6.3, {...options, residualTonPerAcre: 2}, "mehlich buffer").tonPerAcre).toBe(0);
  });
  it("cannot reach its buffer's own pH", () => {
    expect(() => lime("north-carolina", 5, 6.3, {targetPh: 6.6}, "mehlich buffer")).toThrow("starts at 6.6");
  });
});

describe("the quality of a material", () => {
  const ENP = {measure: "ENP", lbPerTon: {value: 2000, basis: "printed"}} as const;
  it("L05 3 tons by ENP 2000 are 3.75 tons at 1600 lb/ton (equation seen)", () => {
    expect(materialTons(3, ENP, {name: "quarry A", enpLbPerTon: 1600}).tonPerAcre).toBeCloseTo(3.75, 9);
  });
  it("by neutralizing value: E-2567 tons of 90 % become fewer of a purer stone", () => {
    const found = lime("e-2567", 5.2, 6.4, {targetPh: 6.8, material: {name: "quarry B", ccePct: 100}});
    expect(found.tonPerAcre).toBeCloseTo((5.48 * 90) / 100, 9);
    expect(found.material).toBe("quarry B");
  });
  it("by ECCE: required lb × 100 ÷ % (equation seen)", () => {
    const basis = {measure: "ECCE", percent: {value: 100}} as const;
    expect(materialTons(1.5, basis, {name: "quarry C", eccePct: 60}).tonPerAcre).toBeCloseTo(2.5, 9);
  });
  it("one measure never stands in for another, nor a percentage for lb per ton", () => {
    expect(() => materialTons(3, ENP, {name: "quarry A", ccePct: 92})).toThrow(
      expect.objectContaining({code: "lime/quality"}),
    );
    const material = {name: "quarry A", enpLbPerTon: 1600};
    expect(() => lime("e-2567", 5.2, 6.4, {targetPh: 6.8, material})).toThrow("in tons by CCE");
    expect(() => materialTons(3, ENP, {name: "quarry A", enpLbPerTon: 5000})).toThrow(
      "5000 lb/ton of ENP is not possible",
    );
  });
  it("ENP by hand: TNP 95 %, 98-80-50 % through 8, 20 and 60 mesh, 5 % water (from memory)", () => {
    // Fineness 0.2 × 18 + 0.6 × 30 + 50 = 71.6; 0.95 × 0.716 × 0.95 × 2000 = 1292.4.
    const enp = enpOf({tnpPct: 95, passing8Pct: 98, passing20Pct: 80, passing60Pct: 50, moisturePct: 5});
    expect(enp).toBeCloseTo(1292.38, 2);
    expect(enpOf({tnpPct: 100, passing8Pct: 100, passing20Pct: 100, passing60Pct: 100})).toBe(2000);
    expect(() => enpOf({tnpPct: 95, passing8Pct: 60, passing20Pct: 80, passing60Pct: 50})).toThrow("does not add up");
  });
});

it("a method is found by its id", () => {
  expect(() => findLimeMethod("e2567x")).toThrow(expect.objectContaining({code: "lime/no-method"}));
});
