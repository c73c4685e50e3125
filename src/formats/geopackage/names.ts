// Names in the database: what people write, brought into what every reader of the format takes.

const MOST_LENGTH = 60;

/** A table name of small letters, digits and underscores that is not taken and not kept for the format itself. */
export function tableName(title: string, taken: ReadonlySet<string>): string {
  const plain = title
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "_")
    .replace(/^_+|_+$/g, "")
    .slice(0, MOST_LENGTH);
  const safe = /^[a-z]/.test(plain) && !/^(gpkg|sqlite|rtree)(_|$)/.test(plain) ? plain : `table_${plain || "1"}`;
  return numbered(safe, "_", (name) => taken.has(name));
}

/** A title that no other table has. */
export function tableTitle(title: string, taken: ReadonlySet<string>): string {
  return numbered(title.trim() || "Table", " ", (name) => taken.has(name));
}

/**
 * Column names: kept as they are, but without control characters, never empty, and unlike each other and the names kept
 * for key and geometry without regard to case, as the database compares them.
 */
export function columnNames(names: readonly string[], kept: readonly string[]): string[] {
  const taken = new Set(kept);
  return names.map((name) => {
    const plain = name.replace(/\p{C}/gu, "").trim() || "column";
    const unique = numbered(plain, "_", (candidate) => taken.has(candidate.toLowerCase()));
    taken.add(unique.toLowerCase());
    return unique;
  });
}

function numbered(name: string, separator: string, isTaken: (name: string) => boolean): string {
  let unique = name;
  for (let number = 2; isTaken(unique); number++) unique = `${name}${separator}${number}`;
  return unique;
}
