import {away} from "../api/away.ts";

/** Said over everything while the server does not answer. */
export function AwayNote() {
  if (!away.value) return null;
  return (
    <p class="problem away" role="alert">
      <b>The server does not answer.</b> See that <code>loamwright serve</code> is still running. What is shown is as it
      was; the page goes on by itself when the server is back.
    </p>
  );
}
