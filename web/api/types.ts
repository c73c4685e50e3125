// Everything the page knows of the server: types alone, so that nothing of it is in the bundle.
export type {Comparison, ComparisonRow, ProductLine} from "../../src/compare/comparison.ts";
export type {Issue, Place} from "../../src/errors.ts";
export type {WorkingStep} from "../../src/recommend/recommendation.ts";
export type {Strategy} from "../../src/sampling/plan.ts";
export type {
  ApiError as ApiProblem,
  AtPoint,
  AttachAs,
  AttachRequest,
  ColumnRoles,
  EvidenceCard,
  ExplainedProduct,
  ExplainedRate,
  FieldCard,
  FieldPage,
  GroundKind,
  GuideCard,
  HandOverCard,
  HandOverRequest,
  LayerCard,
  NewFieldRequest,
  OutputCard,
  PooledTest,
  Preferences,
  ProductCard,
  RateAcres,
  ReceiptCard,
  ResultCard,
  RunRequest,
  SamplingFileCard,
  Session,
  SourceCard,
  SourceColumn,
  Station,
  StationState,
  StrategyCard,
  TaskState,
  TestsPage,
  WorkingPage,
  ZoneCard,
} from "../../src/server/api-types.ts";
export type {CountChoice} from "../../src/zones/choose-count.ts";
export type {EditOutcome, ZoneEdit, ZonePlace} from "../../src/zones/edit/zone-edit.ts";
