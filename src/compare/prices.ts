import {FieldError} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import type {SettingBasis} from "./composite-noise.ts";

/** One price in use: the user's, or ours until the user gives one. */
export interface Price {
  readonly value: number;
  /** As in "$/sample". */
  readonly unit: string;
  /** Year the price is of. */
  readonly year?: number;
  readonly basis: SettingBasis;
  readonly source: string;
}

export type PriceName = keyof typeof USUAL_PRICES;
export type PriceList = Readonly<Record<PriceName, Price>>;

/** Prices in the units of `USUAL_PRICES`; what is not given is filled from there, marked as not the user's. */
export type GivenPrices = Readonly<Partial<Record<PriceName, number | undefined>>>;

/**
 * What stands in for a price the user has not given. None is a quotation: the years are old and regions differ, and each
 * is shown with its basis wherever it is used.
 */
export const USUAL_PRICES = {
  labPerSample: price(10, "$/sample", 2022, "published", "worked example of University of Maryland FS-1046"),
  perCore: price(
    0,
    "$/core",
    undefined,
    "placeholder",
    "cores are paid by the hour here; give a price to pay by the core",
  ),
  labourPerHour: price(30, "$/h", undefined, "placeholder", "no source"),
  zoneMakingPerAcre: price(6.5, "$/ac", 2007, "published", "Montana interviews of 2007: 5 to 8 $/ac"),
  broadcastPerAcre: price(4.9, "$/ac", 2016, "published", "Iowa custom-rate survey 2016, dry bulk, mean"),
  subsurfacePerAcre: price(17.15, "$/ac", 2016, "published", "Iowa custom-rate survey 2016, dry with strip-till, mean"),
  variableRatePerAcre: price(
    1.5,
    "$/ac",
    2007,
    "published",
    "Montana interviews of 2007: about 1.50 $/ac over one rate",
  ),
} as const satisfies Record<string, Price>;

/**
 * The user's prices with ours in the gaps.
 *
 * @param year - Of the user's prices.
 * @throws {FieldError} `compare/bad-price`.
 */
export function fillPrices(given: GivenPrices, year?: number): PriceList {
  // Cores paid by the piece are not paid by the hour as well, unless the user says so.
  const byThePiece = given.perCore !== undefined && given.labourPerHour === undefined;
  const filled = Object.entries(USUAL_PRICES).map(([name, usual]): [string, Price] => {
    const value = given[name as PriceName];
    if (value === undefined && name === "labourPerHour" && byThePiece) {
      return [name, {value: 0, unit: usual.unit, basis: "user", source: "you pay by the core"}];
    }
    if (value === undefined) return [name, usual];
    if (!(value >= 0 && value < Infinity)) {
      throw new FieldError("compare/bad-price", `A price of ${value} ${usual.unit} (${name}) cannot be counted with.`, {
        hint: "Give positive dollars, or leave the price out.",
      });
    }
    return [name, {value, unit: usual.unit, ...(year !== undefined && {year}), basis: "user", source: "your price"}];
  });
  return Object.fromEntries(filled) as PriceList;
}

/** "10 $/sample (2022, published: …)". */
export function sayPrice({value, unit, year, basis, source}: Price): string {
  const when = year === undefined ? "" : `${year}, `;
  return `${formatShort(value, 2)} ${unit} (${when}${basis === "user" ? source : `${basis}: ${source}`})`;
}

function price(value: number, unit: string, year: number | undefined, basis: SettingBasis, source: string): Price {
  return {value, unit, ...(year !== undefined && {year}), basis, source};
}
