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
  EvidenceCard,
  ExplainedProduct,
  ExplainedRate,
  FieldCard,
  FieldPage,
  LayerCard,
  NewFieldRequest,
  ProductCard,
  ReceiptCard,
  ResultCard,
  RunRequest,
  Session,
  SourceCard,
  Station,
  StationState,
  StrategyCard,
  TaskState,
  WorkingPage,
  ZoneCard,
} from "../../src/server/api-types.ts";
