// Entries that disagree with PROJ 9.1 by 25 m to 14 km (WGS 72BE, the Israeli grid of 2005, San Francisco).
const WRONG = [4324, 6990, 6991, 6996, 6997];

/**
 * The one door to the table of EPSG codes (proj4-list, 5,434 codes as proj strings, 1.1 MB): loaded at the first code
 * that needs it.
 *
 * The strings are as given; whether their datum can be trusted is for `crs-guard.ts` to say.
 */
export async function epsgDefinition(code: number): Promise<string | undefined> {
  if (WRONG.includes(code)) return undefined;
  const {default: list} = await import("proj4-list");
  const key = `EPSG:${code}`;
  return Object.hasOwn(list, key) ? list[key]?.[1].trim() : undefined;
}
