/** Digits and capital letters without I and O, which look like 1 and 0 on a muddy bag. */
export const PLAIN_CHARACTERS = "0123456789ABCDEFGHJKLMNPQRSTUVWXYZ";

/**
 * The character that guards a text against slips of the pen: written at its end, it tells most misread ids.
 *
 * Luhn mod N, the decimal check digit of Luhn (US patent 2,950,048, 1960) carried to another alphabet: from the right,
 * every other place is doubled, the two digits of a doubled value in base N are added, and the check character brings
 * the sum to a multiple of N. It finds every single wrong character and every swap of two neighbours but one: the
 * first and the last letter of the alphabet for one another (0Z for Z0).
 *
 * Case and outer spaces do not matter; hyphens and spaces inside are passed over.
 *
 * @param alphabet - An even number of characters, or swaps would go unseen. `PLAIN_CHARACTERS` by default.
 * @returns `undefined` for a text that is empty or holds a character outside the alphabet: it cannot be guarded.
 * Checked against: the published decimal example 7992739871, check digit 3.
 */
export function checkCharacter(text: string, alphabet = PLAIN_CHARACTERS): string | undefined {
  const places = placesOf(text, alphabet);
  if (!places) return undefined;
  const n = alphabet.length;
  const sum = weighted(places, n, 0);
  return alphabet[(n - (sum % n)) % n];
}

/** True when the last character is the check character of those before it. */
export function hasGoodCheck(text: string, alphabet = PLAIN_CHARACTERS): boolean {
  const places = placesOf(text, alphabet);
  return places !== undefined && places.length > 1 && weighted(places, alphabet.length, 1) % alphabet.length === 0;
}

function placesOf(text: string, alphabet: string): number[] | undefined {
  const places = [...text.toUpperCase().replaceAll(/[\s-]/g, "")].map((character) => alphabet.indexOf(character));
  return places.length === 0 || places.includes(-1) ? undefined : places;
}

/** Sum from the right, doubling the places whose distance from the end has the same parity as `undoubled`. */
function weighted(places: readonly number[], n: number, undoubled: 0 | 1): number {
  return places.reduceRight((sum, place, i) => {
    const doubled = (places.length - 1 - i) % 2 === undoubled ? place * 2 : place;
    return sum + Math.floor(doubled / n) + (doubled % n);
  }, 0);
}
