const MOST_CHARACTERS = 32;

/**
 * Names short enough for a terminal: at most 32 characters, never cut inside one, no two alike, none empty.
 *
 * White space is reduced to single blanks. A name that would repeat an earlier one gets a number at its end.
 *
 * @param fallback - Stands in for a name without any text.
 */
export function designators(names: readonly string[], fallback: string): string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    const whole = cut(name.replace(/\s+/gu, " ").trim() || fallback, MOST_CHARACTERS);
    let unique = whole;
    for (let number = 2; taken.has(unique); number++) {
      const suffix = ` ${number}`;
      unique = cut(whole, MOST_CHARACTERS - suffix.length) + suffix;
    }
    taken.add(unique);
    return unique;
  });
}

/** One name alone. */
export function designator(name: string, fallback: string): string {
  return designators([name], fallback)[0] as string;
}

function cut(text: string, most: number): string {
  return [...text].slice(0, most).join("").trimEnd();
}
