import type {ResultCard} from "../api/types.ts";
import {askHowSure, fresh} from "../state/field.ts";
import {besideIt} from "../units/shown.ts";

/** One plain sentence on what the evidence says, and one on how sure it is. */
export function HowSure({result, waiting}: {readonly result: ResultCard; readonly waiting: boolean}) {
  const {evidence} = result;
  if (!evidence) {
    return (
      <div class="row" style="margin-top:10px">
        <p class="soft">The figures rest on one day's sampling. How sure they are is not worked out yet.</p>
        <button type="button" disabled={waiting || !fresh.value} onClick={() => void askHowSure()}>
          Ask how sure
        </button>
      </div>
    );
  }
  const {finer, headline, reasons: all, howSure} = evidence.advice;
  // What speaks for finer sampling is another sum than the bill above: it stands in sight.
  const [inSight, reasons] = finer === "pays" ? [all[0], all.slice(1)] : [undefined, all];
  return (
    <div class="sure" style="margin-top:10px">
      <p>
        <b style="font-weight:600">{besideIt(headline)}</b> {besideIt(howSure)}
      </p>
      {inSight && <p class="small">{besideIt(inSight)}</p>}
      <details>
        <summary>What that rests on</summary>
        <ul class="list small">
          {[...reasons, ...evidence.certainty.notes].map((reason) => (
            <li key={reason}>{besideIt(reason)}</li>
          ))}
        </ul>
      </details>
    </div>
  );
}
