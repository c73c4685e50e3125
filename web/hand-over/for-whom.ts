import type {OutputCard, ReceiptCard, Strategy} from "../api/types.ts";

// Which file is for whom, by what it is. Names are those of the run's outputs.

export type Whom = "spreader" | "agency" | "office";

export interface FileOut extends OutputCard {
  readonly whom: Whom;
  /** What it is and what reads it. */
  readonly what: string;
  /** Whose rates it holds. */
  readonly strategy?: Strategy;
  /** What it holds rates of. */
  readonly products: readonly string[];
  /** What reading it back has proved, a receipt for each product in it. */
  readonly receipts: readonly ReceiptCard[];
  /** Of the applicator's folder, which holds the same rates once more. */
  readonly inFolder: boolean;
}

const FOLDER = "hand-over/";

/**
 * Every output with whom it is for; rates are those with a receipt and what is in the applicator's folder.
 *
 * @param spread - The strategy in the folder; absent where there is only one.
 */
export function filesOut(
  outputs: readonly OutputCard[],
  receipts: readonly ReceiptCard[],
  spread: Strategy | undefined,
): FileOut[] {
  const inIt = receipts.filter(({strategy}) => strategy === (spread ?? receipts[0]?.strategy));
  return outputs.map((output): FileOut => {
    const own = receipts.filter(({file}) => file === output.name);
    const inFolder = output.name.startsWith(FOLDER);
    const same = inIt.filter(({file}) => file === output.name.slice(FOLDER.length));
    const held = inFolder ? (same.length > 0 ? same : inIt) : own;
    const strategy = held[0]?.strategy;
    const rates = own.length > 0 || inFolder;
    return {
      ...output,
      whom: rates ? "spreader" : whomOf(output.name),
      what: rates ? rateFormat(output.name) : whatOf(output.name),
      ...(strategy && {strategy}),
      products: [...new Set(held.map(({product}) => product))],
      receipts: own,
      inFolder,
    };
  });
}

const whomOf = (name: string): Whom => (name === "run.json" ? "agency" : "office");

const RATE_FORMATS: readonly (readonly [RegExp, string])[] = [
  [/applicator-sheet\.html$/, "one page on paper, for the cab"],
  [/SHA256SUMS$/, "checksums of the folder"],
  [/TASKDATA\.XML$/, "ISO 11783-10, for terminals: the folder TASKDATA goes to the root of the stick"],
  [/\.BIN$/, "part of TASKDATA"],
  [/taskdata-.*\.zip$/, "ISO 11783-10 in a zip, for terminals: unpack it to the root of the stick"],
  [/\.zip$/, "shapefile in a zip, for controllers that read shapefiles"],
  [/\.gpkg$/, "GeoPackage, for office programs"],
  [/\.geojson$/, "GeoJSON, for office programs"],
];

const WHATS: readonly (readonly [RegExp, string])[] = [
  [/^sampling\.json$/, "the record of the plans for machines"],
  [/^run\.json$/, "the record for machines: settings, sources, digests of everything"],
  [/^comparison\./, "the ledger as figures"],
  [/^plan-budget/, "plans within the budget"],
  [/-sheet\.html$/, "the crew's sheet, on paper"],
  [/-labels\.html$/, "labels for the bags"],
  [/-bags\.csv$/, "list of bags"],
  [/-submittal\.csv$/, "what the lab is asked"],
  [/\.gpx$/, "cores and way, for a handheld or a phone"],
  [/\.kml$/, "cores on a globe"],
  [/^plan-.*cores/, "where the cores are taken"],
  [/^plan-.*route/, "the way from core to core"],
  [/^plan-.*units/, "ground each bag speaks for"],
  [/^zones\./, "the zones"],
  [/^layer-/, "a layer, as a raster"],
];

const rateFormat = (name: string): string => RATE_FORMATS.find(([pattern]) => pattern.test(name))?.[1] ?? "rates";
export const whatOf = (name: string): string => WHATS.find(([pattern]) => pattern.test(name))?.[1] ?? "";

/** The rates as their bytes are: the same after a run that changed nothing of them. */
export function ratesKey(files: readonly FileOut[]): string {
  return files
    .filter(({whom}) => whom === "spreader")
    .map(({name, sha256, bytes}) => `${name} ${sha256 ?? bytes}`)
    .join("\n");
}
