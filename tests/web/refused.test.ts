import {describe, expect, it, vi} from "vitest";
import {forgetRefusal, refusalOf, saveSetting, tryRefused} from "../../web/stations/refused.ts";

type Job = Record<string, Record<string, unknown>>;

const server = vi.hoisted(() => ({job: {} as Job, refuses: (_: Job): boolean => false, asked: 0}));

// The server in little: it keeps the job it takes and refuses the rest.
vi.mock("../../web/state/field.ts", () => ({
  page: {peek: () => ({job: server.job})},
  saveJob: async (next: (job: Job) => Job) => {
    server.asked++;
    const job = next(server.job);
    if (server.refuses(job)) return {code: "job/wrong", message: "Not like that."};
    server.job = job;
    return undefined;
  },
}));

const text = {stands: true} as const;

describe("a setting that was refused", () => {
  it("goes in once another of its section makes it right, and its message goes", async () => {
    server.refuses = ({rates}) => rates?.cec !== undefined && rates.crops === undefined;
    await saveSetting(["rates", "cec"], 12, text);
    expect(server.job).toEqual({});
    expect(refusalOf(["rates", "cec"])?.problem.message).toBe("Not like that.");
    await saveSetting(["zones", "count"], 3, text);
    expect(server.job).toEqual({zones: {count: 3}});
    await saveSetting(["rates", "crops"], ["corn"], text);
    expect(server.job).toEqual({zones: {count: 3}, rates: {crops: ["corn"], cec: 12}});
    expect(refusalOf(["rates", "cec"])).toBeUndefined();
  });

  it("stays refused as long as it is wrong, and is asked for again each time it is written", async () => {
    server.job = {};
    server.refuses = ({prices}) => prices?.lab === "12";
    const before = server.asked;
    await saveSetting(["prices", "lab"], "12", text);
    await saveSetting(["prices", "lab"], "12", text);
    expect(server.asked - before).toBe(2);
    await saveSetting(["prices", "core"], "0.40 $/core", text);
    expect(server.job).toEqual({prices: {core: "0.40 $/core"}});
    expect(refusalOf(["prices", "lab"])).toBeDefined();
    forgetRefusal(["prices", "lab"]);
    expect(refusalOf(["prices", "lab"])).toBeUndefined();
  });

  it("is not tried again where the page shows it no more, as a choice that went back", async () => {
    server.job = {};
    server.refuses = ({rates}) => rates?.guide === "none";
    await saveSetting(["rates", "guide"], "none", {stands: false});
    server.refuses = () => false;
    await tryRefused("rates");
    expect(server.job).toEqual({});
    expect(refusalOf(["rates", "guide"])).toBeUndefined();
  });

  it("brings along what the job needs with it", async () => {
    server.job = {};
    server.refuses = ({prices}) => prices !== undefined && prices.year === undefined;
    const along = (job: object) => ({...job, prices: {...(job as Job).prices, year: 2026}});
    await saveSetting(["prices", "lab"], "12 $/sample", {stands: true, along});
    expect(server.job).toEqual({prices: {lab: "12 $/sample", year: 2026}});
  });
});
