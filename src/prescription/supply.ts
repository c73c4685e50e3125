import type {Issue} from "../errors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {LoadSize} from "../units/load.ts";
import {bulkDensity} from "./bulk-density.ts";
import type {Product, Supply} from "./prescription.ts";

/** What lb of a product come to in dollars, gallons, room and loads. Room and loads are loose: weigh a box of the load. */
export function supplyOf(product: Product, totalLb: number, load?: LoadSize): Supply {
  const {pricePerLb, lbPerGallon} = product;
  const perCubicFoot = lbPerCubicFootOf(product);
  const lbPerLoad = load && lbPerLoadOf(product, load);
  return {
    ...(pricePerLb !== undefined && {dollars: totalLb * pricePerLb}),
    ...(lbPerGallon !== undefined && {gallons: totalLb / lbPerGallon}),
    ...(perCubicFoot !== undefined && {cubicFeet: totalLb / perCubicFoot}),
    ...(lbPerLoad !== undefined && {loads: loadsOf(totalLb, lbPerLoad)}),
  };
}

/** Loads of a weight: full ones and a last, partial one. A thousandth of a load over is not a load. */
export function loadsOf(totalLb: number, lbPerLoad: number): Required<Supply>["loads"] {
  const count = totalLb > 0 ? Math.max(1, Math.ceil(totalLb / lbPerLoad - 1e-3)) : 0;
  return {count, lbPerLoad, lastLb: count > 0 ? totalLb - (count - 1) * lbPerLoad : 0};
}

/** A remark on how many loads, or why that cannot be told. */
export function loadIssues(product: Product, {loads, dollars}: Supply, load: LoadSize | undefined): Issue[] {
  if (!load || loads?.count === 0) return [];
  if (!loads) {
    const lacks = load.unit === "gal" ? "is dry" : "has no known weight by volume";
    return [
      {
        code: "prescription/loads-unknown",
        severity: "note",
        message: `${product.analysis} ${lacks}: how many loads of ${formatShort(load.amount)} ${load.unit} it takes is not known.`,
        hint: "Give the load by weight, as in 8 ton.",
      },
    ];
  }
  const last = loads.count > 1 ? `, the last ${formatNumber(loads.lastLb)} lb` : "";
  const bill = dollars === undefined ? "" : `; ${formatNumber(dollars)} $`;
  return [
    {
      code: "prescription/loads",
      severity: "note",
      message: `${product.analysis}: ${formatNumber(loads.count)} ${loads.count === 1 ? "load" : "loads"} of up to ${formatNumber(loads.lbPerLoad)} lb${last}${bill}.`,
    },
  ];
}

function lbPerLoadOf(product: Product, {amount, unit}: LoadSize): number | undefined {
  if (unit === "lb") return amount;
  const per = unit === "gal" ? product.lbPerGallon : lbPerCubicFootOf(product);
  return per === undefined ? undefined : amount * per;
}

/** A gallon is 231 cubic inches. */
const GALLONS_PER_CUBIC_FOOT = 1728 / 231;

function lbPerCubicFootOf({analysis, lbPerGallon}: Product): number | undefined {
  return lbPerGallon === undefined ? bulkDensity(analysis) : lbPerGallon * GALLONS_PER_CUBIC_FOOT;
}
