import {afterEach, describe, expect, it} from "vitest";
import {
  besideIt,
  figures,
  quantityShown,
  say,
  sayDollars,
  sayMass,
  shown,
  unitOf,
  unitSystem,
} from "../../web/units/shown.ts";

afterEach(() => {
  unitSystem.value = "us";
});

describe("an amount on the page", () => {
  it("is shown as the server gives it to who reads US units", () => {
    expect(shown(124, "lb/ac")).toEqual({text: "124", unit: "lb/ac"});
    expect(say(153.84, "ac")).toBe("153.8 ac");
    expect(say(19_100.4, "lb")).toBe("19,100 lb");
    expect(say(195, "bu/ac", {crop: "corn"})).toBe("195 bu/ac");
  });

  it("is turned for who reads metric units", () => {
    unitSystem.value = "metric";
    // By the definitions: 100 lb/ac is 112.085 kg/ha, 153.84 ac is 62.257 ha, 19,100.4 lb is 8,663.8 kg.
    expect(shown(100, "lb/ac")).toEqual({text: "112", unit: "kg/ha"});
    expect(say(153.84, "ac")).toBe("62.3 ha");
    expect(say(19_100.4, "lb")).toBe("8,664 kg");
    expect(say(500, "ft")).toBe("152 m");
    expect(say(8, "in")).toBe("20 cm");
    expect(say(2, "mi")).toBe("3.2 km");
    expect(say(2, "ton/ac")).toBe("4.5 t/ha");
    expect(sayDollars(10, "$/ac")).toBe("$24.71/ha");
    expect(sayDollars(7640, "$")).toBe("$7,640");
  });

  it("changes at once when the preference does", () => {
    expect([unitOf("lb/ac"), figures(100, "lb/ac")]).toEqual(["lb/ac", "100"]);
    unitSystem.value = "metric";
    expect([unitOf("lb/ac"), figures(100, "lb/ac")]).toEqual(["kg/ha", "112"]);
  });

  it("comes from metres and tonnes too", () => {
    expect(say(231.6, "m")).toBe("760 ft");
    // 10 t/ha of corn at 56 lb a bushel: 10,000 / 1.12085 / 56 = 159.3 bu/ac.
    expect(say(10, "t/ha", {crop: "corn"})).toBe("159 bu/ac");
    expect(say(10, "t/ha")).toBe("4.5 ton/ac");
  });

  it("keeps a unit that has no other", () => {
    unitSystem.value = "metric";
    expect(say(17, "ppm")).toBe("17 ppm");
    expect(say(41, "%")).toBe("41 %");
    expect(say(1.5, "deg")).toBe("1.5°");
    expect(say(6.5, "1")).toBe("6.5");
    expect(say(61, "bu/ac")).toBe("61 bu/ac");
    expect(say(Number.NaN, "lb/ac")).toBe("n/a kg/ha");
  });

  it("is a sum in tonnes only in a sentence", () => {
    expect(sayMass(44_092)).toBe("44,092 lb");
    unitSystem.value = "metric";
    expect(sayMass(44_092)).toBe("20.0 t");
    expect(sayMass(2_000)).toBe("907 kg");
  });

  it("stands beside the US one in a sentence", () => {
    const sentence =
      "Within 30 ft of 2 to 2.5 ac; $2.20/ac a year more, 1,200 lb in all, 38.0 ac (15.40 ha), 3 in 4 bags.";
    expect(besideIt(sentence)).toBe(sentence);
    unitSystem.value = "metric";
    expect(besideIt(sentence)).toBe(
      "Within 30 ft (9 m) of 2 to 2.5 ac (0.8 to 1.0 ha); $2.20/ac ($5.44/ha) a year more, 1,200 lb (544 kg) in all, 38.0 ac (15.40 ha), 3 in 4 bags.",
    );
    expect(besideIt("11-52-0 at 30 lb/ac. MRG07 lab 4 of 9.")).toBe(
      "11-52-0 at 30 lb/ac (34 kg/ha). MRG07 lab 4 of 9.",
    );
  });

  it("may be a setting's usual value", () => {
    expect(quantityShown("2.5 ac")).toBe("2.5 ac");
    unitSystem.value = "metric";
    expect(quantityShown("2.5 ac")).toBe("1.01 ha");
    expect(quantityShown("100 ft")).toBe("30.5 m");
    expect(quantityShown("600 lb/ac")).toBe("673 kg/ha");
    expect(quantityShown("choose")).toBe("choose");
  });
});
