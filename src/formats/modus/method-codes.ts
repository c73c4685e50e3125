import type {Method} from "../../lab/soil-test.ts";

/**
 * What a method code of Modus 1 stands for, in our own words: the few tests this program uses.
 *
 * Facts about codes met in lab files, not the standard's list. Codes of Modus 2 are not read: the published list
 * contradicts itself on phosphorus (its rows for ICP and for colorimetry are exchanged), so a method is asked for.
 */
const CODES: Readonly<Record<string, Method>> = {
  "S-P-M3.04": "mehlich-3 icp",
  "S-P-M3.01.03": "mehlich-3 colorimetric",
  "S-P-B1-1:10.01.03": "bray-1",
  "S-P-B1-1:7.01.03": "bray-1",
  "S-P-B2-1:10.01.03": "bray-2",
  "S-P-BIC.01.03": "olsen",
  "S-P-BIC.04": "olsen",
  // The detection behind .05 is not said here, and for potassium and the cations it does not matter.
  "S-K-M3.05": "mehlich-3",
  "S-K-M3.04": "mehlich-3 icp",
  "S-K-NH4AC.05": "ammonium acetate",
  "S-K-M3.20": "mehlich-3 field-moist",
  "S-K-M3.21": "mehlich-3 field-moist",
  "S-CA-M3.05": "mehlich-3",
  "S-CA-NH4AC.05": "ammonium acetate",
  "S-MG-M3.05": "mehlich-3",
  "S-MG-NH4AC.05": "ammonium acetate",
  "S-S-M3.05": "mehlich-3",
  "S-B-M3.04": "mehlich-3 icp",
  "S-ZN-DTPA.05": "dtpa",
  "S-ZN-M3.05": "mehlich-3",
  "S-PH-1:1.02.07": "water 1:1",
  "S-PH-1:1.02.08": "cacl2",
  "S-BPH-SIK1.02": "sikora",
  "S-BPH-SIK2.02": "sikora",
  "S-BPH-SMPB.02": "smp",
  "S-BPH-WB.02": "woodruff",
  "S-BPH-MWB.02": "woodruff",
  "S-BPH-AEB.02": "adams-evans",
  "S-BPH-MAEB.02": "adams-evans",
  "S-BPH-MEB.02": "mehlich buffer",
  "S-SOM-LOI.15": "loss on ignition",
  "S-SOM-WB.01.09": "walkley-black",
  "S-CEC.19": "sum of cations",
};

/** The method a code names in our words, or the code as it stands where it is not known. */
export function methodOfCode(code: string): string {
  return CODES[code.trim().toUpperCase()] ?? code.trim();
}
