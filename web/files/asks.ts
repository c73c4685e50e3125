import type {Issue} from "../api/types.ts";

/** Whether a remark wants something of the user; a doubt that was dealt with on the way is only good to know. */
export const asksForSomething = ({severity, hint}: Issue): boolean =>
  severity === "error" || (severity === "warning" && hint !== undefined);
