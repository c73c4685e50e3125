import type {Comparison} from "../compare/comparison.ts";
import type {DifferenceMap} from "../compare/difference-map.ts";
import type {Issue, Place} from "../errors.ts";
import type {LonLat} from "../geo/shapes.ts";
import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import type {Evidence} from "../pipeline/make-evidence.ts";
import type {Loads, Purpose} from "../prescription/prescription.ts";
import type {Receipt} from "../prescription/receipt.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation, WorkingStep} from "../recommend/recommendation.ts";
import type {MoveOutcome} from "../sampling/move-cores.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {UnitSystem} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {CountChoice} from "../zones/choose-count.ts";
import type {EditOutcome} from "../zones/edit/zone-edit.ts";
import type {Judgement} from "../zones/judge/judgement.ts";

// What the server and a page say to one another, all of it plain JSON. Shapes are in degrees. JSON knows no NaN: a
// number that is not known is `null` where the type here says `number`.

/** Where a field stands on the way from files to the hand-over. */
export type Station = "layers" | "zones" | "plan" | "lab" | "rates" | "compare" | "hand-over";

export interface StationState {
  /** Done: the last result holds it. Ready: a run would make it. Stale: made, but from other files or settings. */
  readonly state: "done" | "ready" | "waiting" | "stale";
  /** One plain sentence. */
  readonly line: string;
}

export interface FieldCard {
  readonly id: string;
  readonly name: string;
  readonly farm: string;
  readonly acres: number;
  /** A MultiPolygon's coordinates, as in GeoJSON. */
  readonly outline: readonly (readonly (readonly LonLat[])[])[];
  /** The last year of harvest among the yield logs. */
  readonly season?: number;
  readonly stations: Readonly<Record<Station, StationState>>;
  /** The first station that is not done. */
  readonly next: Station;
  /** The step of a run of it that is going on. */
  readonly working?: string;
}

export interface SourceColumn {
  readonly heading: string;
  /** Some cells of it, as they stand. */
  readonly sample: readonly string[];
  /** What it was taken for, in words; empty where nothing is known of it. */
  readonly readAs: string;
  readonly unit?: string;
  /** The same as a role of a yield log, an analyte, or "sample id". */
  readonly is?: string;
  readonly method?: string;
}

/** What columns can hold. */
export interface ColumnRoles {
  readonly yield: readonly {readonly role: string; readonly means: string; readonly units: readonly string[]}[];
  readonly lab: readonly {
    readonly analyte: string;
    readonly units: readonly string[];
    readonly methods: readonly string[];
  }[];
  /** Crops whose bushel is known. */
  readonly crops: readonly string[];
}

/** Something the file does not say and the program does not guess. */
export interface SourceQuestion {
  readonly about: string;
  readonly column?: string;
  /** Of a yield log: what the column would be. */
  readonly role?: string;
  readonly message: string;
  /** The usual answers first. */
  readonly choices: readonly string[];
}

/** What a source can be to a field. */
export type AttachAs =
  | "yield"
  | "soil map"
  | "elevation"
  | "lab"
  | "raster"
  | "points"
  | "keep-out"
  | "setback"
  | "zones"
  | "boundary";

export interface SourceCard {
  /** Digest of the bytes (SHA-256, hex). */
  readonly id: string;
  readonly name: string;
  readonly bytes: number;
  readonly kind: string;
  /** What it holds, in plain sentences. */
  readonly lines: readonly string[];
  readonly issues: readonly Issue[];
  readonly columns?: readonly SourceColumn[];
  readonly questions?: readonly SourceQuestion[];
  /** Of a lab report: every sample id, and the column they stand in. */
  readonly ids?: {readonly column: string; readonly of: readonly string[]};
  /** Of a file with places in degrees: some of them, from all over it. */
  readonly positions?: readonly LonLat[];
  /** Of shapes: west, south, east, north, degrees. */
  readonly box?: readonly [number, number, number, number];
  /** Of shapes of fields: what their attributes call the field and the farm. */
  readonly named?: {readonly field?: string; readonly farm?: string};
  /** What it looks like, the likeliest first; empty where the file does not tell. */
  readonly looksLike: readonly AttachAs[];
  /** What `settings` of an attachment would be, by what it is attached as; open questions are left out of it. */
  readonly proposed: Readonly<Partial<Record<AttachAs, Readonly<Record<string, unknown>>>>>;
}

/** The two kinds of ground that are drawn, by the words of an attachment. */
export type GroundKind = Extract<AttachAs, "keep-out" | "setback">;

export interface FieldPage {
  readonly card: FieldCard;
  /** As written; names in it are those of `sources`. */
  readonly job: Readonly<Record<string, unknown>>;
  /** Of the job; counts from 1. */
  readonly version: number;
  readonly canUndo: boolean;
  readonly canRedo: boolean;
  readonly sources: readonly SourceCard[];
  /** What went out of the office, the latest first. */
  readonly handOvers: readonly HandOverCard[];
  /** The last one, also when the job has changed since: see `version` in both. */
  readonly result?: ResultCard;
}

/** Files that were handed over, as the log of the book has it. */
export interface HandOverCard {
  readonly at: string;
  /** Who was at work. */
  readonly who: string;
  /** Who got them. */
  readonly to?: string;
  /** Of the rates among them. */
  readonly strategies: readonly Strategy[];
  /** What those rates are of, by analysis; empty where an older log does not say. */
  readonly products: readonly string[];
  /** Names of those a machine could spread by; where there are any, the caution was read. */
  readonly rates: readonly string[];
  readonly files: readonly {readonly name: string; readonly sha256: string}[];
  /** Whether the results in force still hold the rates, or without any the other files, byte for byte. */
  readonly inForce: boolean;
}

export interface HandOverRequest {
  /** Names of outputs. */
  readonly files: readonly string[];
  readonly to?: string | undefined;
  /** That the caution was read; needed for rates. */
  readonly acknowledged?: boolean | undefined;
}

/** How sure the ledger is and what finer sampling is worth. Shapes of the differences are served by name. */
export interface EvidenceCard extends Omit<Evidence, "differences"> {
  readonly differences: readonly DifferenceCard[];
}

export interface DifferenceCard extends Omit<DifferenceMap, "pieces"> {
  /** Of its shapes. */
  readonly shapes: string;
  /** lb/ac; both signs. */
  readonly least: number;
  readonly most: number;
}

export interface LayerCard {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly theme: "yield" | "soil" | "terrain" | "sensed";
  readonly least: number;
  readonly most: number;
  /** Names of the classes, by value, where it is a map of classes. */
  readonly classes?: readonly string[];
  /** Whether zones are made from it; the others are to be looked at. */
  readonly used: boolean;
}

export interface ZoneCard {
  readonly id: number;
  readonly label: string;
  readonly acres: number;
  /** Of each layer, in its own unit, by the layer's id. */
  readonly means: Readonly<Record<string, number>>;
}

export interface StrategyCard {
  readonly strategy: Strategy;
  /** One rate from the mean of all units. */
  readonly pooled: boolean;
  /** Of the plan: which ground its ids stand for. */
  readonly mark: string;
  readonly units: number;
  readonly cores: number;
  readonly walkM?: number;
  /** Units with lab results; absent in results of before it was kept. */
  readonly tested?: number;
  readonly products: readonly ProductCard[];
  /** Names of its shapes. */
  readonly shapes: readonly string[];
}

export interface ProductCard {
  readonly code: string;
  readonly name: string;
  readonly analysis: string;
  readonly purpose: Purpose;
  /** Property of the rates' shapes that holds it. */
  readonly column: string;
  readonly leastLbPerAcre: number;
  readonly mostLbPerAcre: number;
  readonly meanLbPerAcre: number;
  readonly totalLb: number;
  /** Ground by the rate it gets, the smallest rate first. */
  readonly byRate: readonly RateAcres[];
  readonly loads?: Loads;
}

export interface RateAcres {
  readonly lbPerAcre: number;
  readonly acres: number;
  readonly polygons: number;
}

/** Without its map of agreement, which is a raster of its own (`zones-agreement.tif`). */
export interface JudgementCard extends Omit<Judgement, "stability"> {
  readonly stability?: Omit<NonNullable<Judgement["stability"]>, "agreement">;
}

export interface ReceiptCard extends Receipt {
  readonly strategy: Strategy;
}

export interface OutputCard {
  readonly name: string;
  readonly bytes: number;
  /** Hex; absent where the files in the book were written by another version of the program. */
  readonly sha256?: string;
}

/** A file for the crew or the lab. */
export interface SamplingFileCard extends OutputCard {
  readonly sha256: string;
  /** Absent where it is of no single plan. */
  readonly strategy?: Strategy;
}

export interface ResultCard {
  readonly id: string;
  readonly field: string;
  /** Of the job it was made from. */
  readonly version: number;
  /** How far the run went. */
  readonly upTo: RunUpTo;
  readonly madeAt: string;
  /** West, south, east, north, degrees. */
  readonly box: readonly [number, number, number, number];
  readonly comparison: Comparison;
  readonly evidence?: EvidenceCard;
  readonly strategies: readonly StrategyCard[];
  readonly layers: readonly LayerCard[];
  readonly zones?: readonly ZoneCard[];
  readonly varianceExplained?: {readonly clustered: number; readonly tidied: number};
  readonly judgement?: JudgementCard;
  readonly choice?: CountChoice;
  /** What came of the edits of the zones, in order. */
  readonly edits: readonly EditOutcome[];
  /** What came of moves of cores by hand, in order. */
  readonly moves: readonly MoveOutcome[];
  readonly receipts: readonly ReceiptCard[];
  readonly labSentences: readonly string[];
  readonly outputs: readonly OutputCard[];
  /** Everything `shapes/` serves. */
  readonly shapes: readonly string[];
  readonly issues: readonly Issue[];
}

export interface ApiError {
  readonly code: string;
  readonly message: string;
  readonly hint?: string;
  readonly place?: Place;
  readonly issues?: readonly Issue[];
}

export interface ErrorBody {
  readonly error: ApiError;
}

export interface TaskState {
  readonly id: string;
  readonly field: string;
  /** What is being done now, in words. */
  readonly step: string;
  /** Steps begun so far, in order, with milliseconds since the start. */
  readonly steps: readonly {readonly step: string; readonly atMs: number}[];
  readonly state: "running" | "done" | "failed" | "cancelled";
  readonly result?: ResultCard;
  readonly error?: ApiError;
}

/** Why a unit gets what it gets: the guide's working, then what the machine makes of it. */
export interface ExplainedRate extends Recommendation {
  readonly products: readonly ExplainedProduct[];
}

export interface ExplainedProduct {
  readonly code: string;
  readonly analysis: string;
  readonly exactLbPerAcre: number;
  readonly rateLbPerAcre: number;
  readonly heldBy?: "minimum" | "maximum";
  readonly working: readonly WorkingStep[];
}

export interface WorkingPage {
  readonly strategy: Strategy;
  readonly unit: string;
  readonly label: string;
  readonly acres: number;
  readonly rates: readonly ExplainedRate[];
  readonly lime: readonly LimeRecommendation[];
}

/** What the lab found in each bag, and what the guide made of it. */
export interface TestsPage {
  readonly bags: readonly BagTests[];
  /** Of plans with one rate for all bags: the means it rests on. */
  readonly pooled: readonly PooledTest[];
}

export interface BagTests {
  readonly strategy: Strategy;
  /** Id of the sampling unit. */
  readonly unit: string;
  readonly acres: number;
  /** One for each analyte and method: the result, or the mean of several for the same unit. */
  readonly values: readonly BagValue[];
  /**
   * The same as the guide reads them, in its unit. Bags of a plan with one rate for all have them where the guide reads
   * their mean in the lab's own unit and method; then without a class, because the class is the mean's.
   */
  readonly read: readonly ReadTest[];
}

export interface BagValue extends UnitValue {
  readonly samples: readonly Pick<SoilTest, "sampleId" | "value" | "unit" | "qualifier" | "source" | "convertedFrom">[];
}

export interface ReadTest {
  readonly nutrient: Nutrient;
  readonly value: number;
  readonly unit: string;
  readonly method: string;
  readonly testClass?: string;
  /** Where a single result lies beyond what the lab can tell. */
  readonly qualifier?: "<" | ">";
}

export interface PooledTest extends ReadTest {
  readonly strategy: Strategy;
  /** How many it is the mean of, weighted by acres. */
  readonly bags: number;
}

export interface AtPoint {
  readonly lon: number;
  readonly lat: number;
  readonly inside: boolean;
  /** `value` is null where the layer has none; a class layer's value is the name of the class. */
  readonly layers: readonly {
    readonly id: string;
    readonly label: string;
    readonly value: number | string | null;
    readonly unit: string;
  }[];
  readonly units: readonly {
    readonly strategy: Strategy;
    readonly unit: string;
    readonly label: string;
    readonly zone?: number;
    readonly rates: readonly {readonly code: string; readonly analysis: string; readonly lbPerAcre: number}[];
  }[];
}

/** Given to the page that this server serves, and to no other. */
export interface Session {
  /** For the header `x-loamwright-token` of every request that writes. */
  readonly token: string;
  readonly version: string;
  /** Name of the book's file, without its folder. */
  readonly book: string;
  readonly caution: string;
  /** What is being put into the book, in words; its fields are told when that is done. */
  readonly preparing?: string;
}

/** How the page is liked; kept in the book, the same for all its fields. */
export interface Preferences {
  readonly units: UnitSystem;
  /** Pictures under the maps, from a server of the user's own choice. Absent: nothing leaves the machine. */
  readonly tiles?: TileSource | undefined;
}

export interface TileSource {
  /** Address of a tile with {z}, {x} and {y} in it, counted from the north-west. */
  readonly template: string;
  readonly attribution: string;
  readonly maxZoom: number;
}

/** A guide that comes with the program. */
export interface GuideCard {
  readonly id: string;
  readonly name: string;
  readonly edition: string;
  /** Two-letter codes; absent: for all. */
  readonly states?: readonly string[];
  readonly crops: readonly {readonly id: string; readonly yieldUnit: string}[];
  readonly nutrients: readonly string[];
  readonly soilGroups?: readonly string[];
}

/** "plan" leaves lab results and what rests on them out: layers, zones and plans. */
export type RunUpTo = "plan" | "all";

export interface RunRequest {
  /** Also works out how sure the comparison is. Default true. */
  readonly evidence?: boolean | undefined;
  /** Default "all". */
  readonly upTo?: RunUpTo | undefined;
}

export interface NewFieldRequest {
  readonly name: string;
  readonly farm?: string | undefined;
  /** Id of a source. */
  readonly boundary: string;
}

export interface AttachRequest {
  /** Id of a source. */
  readonly source: string;
  readonly as: AttachAs;
  /** Of several keep-outs or setbacks the one whose place it takes, from 0; default: one more. */
  readonly at?: number | undefined;
  /** Beside `file`, what the job's own section for it takes; see `proposed` of the source. */
  readonly settings?: Readonly<Record<string, unknown>> | undefined;
}

export interface DetachRequest {
  /** Id of a source. */
  readonly source: string;
}

export type Ramp = "blue" | "ochre" | "grey" | "diverging";
