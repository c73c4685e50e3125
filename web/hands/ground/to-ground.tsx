import type {GroundKind} from "../../api/types.ts";
import {page} from "../../state/field.ts";
import {openStation} from "../../state/view.ts";
import {entriesIn} from "./grounds.ts";

/** From a station to the ground its settings rest on. */
export function ToGround({kind}: {readonly kind: GroundKind}) {
  const count = entriesIn(page.value?.job, kind).length;
  return (
    <p class="small">
      {count === 0 ? "No" : count} {kind}
      {count === 1 ? "" : "s"}.
      <button type="button" class="plain" onClick={() => openStation("ground")}>
        {count === 0 ? "draw one" : "see and draw"}
        <span class="unseen"> {kind}s</span>
      </button>
    </p>
  );
}
