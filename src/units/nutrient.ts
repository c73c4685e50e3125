/**
 * Nutrient bases are different things with different ids: soil tests report elements, labels and rates oxides.
 * Nothing in the product converts one to the other without going through this file.
 */
export type Nutrient = "N" | "P2O5" | "K2O";

// Standard atomic weights, IUPAC 2021 abridged values.
const P = 30.974;
const K = 39.098;
const O = 15.999;

/** lb P2O5 per lb P: (2 P + 5 O) / 2 P = 2.2913. Printed tables round to 2.29 to 2.2914. */
export const P2O5_PER_P = (2 * P + 5 * O) / (2 * P);
/** lb K2O per lb K: (2 K + O) / 2 K = 1.2046. */
export const K2O_PER_K = (2 * K + O) / (2 * K);
