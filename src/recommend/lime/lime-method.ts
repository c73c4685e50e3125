import type {Method} from "../../lab/soil-test.ts";
import type {Cited} from "../guide.ts";

/** A published way from soil tests to the need for lime. */
export interface LimeMethod {
  readonly id: string;
  readonly title: string;
  /** Named beside every number of the working. */
  readonly cite: string;
  readonly region: string;
  /** Depth of soil the need is for, inches. */
  readonly depthIn: Cited;
  /** What one ton of the need is a ton of. */
  readonly basis: LimeBasis;
  readonly rule: LimeRule;
  /** pH units the soil may stand under its target before lime is due; the user's setting goes before it. */
  readonly slack: Cited;
  readonly validity: readonly string[];
}

/** Quality of the material a need is stated in; another measure cannot stand in for it. */
export type LimeBasis =
  | {readonly measure: "CCE"; readonly percent: Cited}
  | {readonly measure: "ENP"; readonly lbPerTon: Cited};

export type LimeRule =
  /** ton/ac = a − b × lime test index, one line to each target pH. */
  | {
      readonly kind: "lime index lines";
      readonly buffers: readonly Method[];
      readonly lines: readonly {readonly targetPh: number; readonly a: Cited; readonly b: Cited}[];
      /** Lime test indexes of the printed table. */
      readonly range: readonly [low: number, high: number];
    }
  /** lb/ac = exchangeable acidity × factor. */
  | {
      readonly kind: "exchangeable acidity";
      readonly targets: readonly {
        readonly targetPh: number;
        readonly perMeq: Cited;
        /** Below this acidity a fixed amount is due instead. */
        readonly small?: {readonly below: Cited; readonly lbPerAcre: Cited};
      }[];
    }
  /** ton/ac = 4 × (start − buffer pH) × (target − pH) / (start − pH). */
  | {
      readonly kind: "acidity to target";
      readonly buffers: readonly Method[];
      readonly startPh: Cited;
      readonly perPhUnit: Cited;
    };
