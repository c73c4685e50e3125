import {type Hand, type HandMode, isChange} from "./at-hand.ts";

const HOW: Readonly<Record<HandMode, string>> = {
  line: "Click corner by corner, and the last corner again to end.",
  polygon: "Click corner by corner, and the last corner again to close.",
  point: "Click the place.",
  edit: "Drag a corner to move it, a border to add one; the other mouse button or a long press takes one out.",
  lines: "Drag a corner to move it, a line to add one; the other mouse button or a long press takes one out.",
  points: "Drag a place to where it shall be.",
};
const KEYS: Readonly<Record<HandMode, string>> = {
  line: "Keys: arrows move the ground under the cross, Space sets a corner, Enter ends.",
  polygon: "Keys: arrows move the ground under the cross, Space sets a corner, Enter closes.",
  point: "Keys: arrows move the ground under the cross, Space sets it.",
  edit: "Keys: Space takes up the nearest corner and puts it down, arrows carry it, Delete takes it out, Enter ends.",
  lines: "Keys: Space takes up the nearest corner and puts it down, arrows carry it, Delete takes it out, Enter ends.",
  points: "Keys: Space takes up the nearest place and puts it down, arrows carry it, Enter ends.",
};
/** Corners without which there is no shape. */
const LEAST: Readonly<Record<HandMode, number>> = {line: 2, polygon: 3, point: 1, edit: 1, lines: 1, points: 1};

/** What a drawing is for and how it is done, with its buttons; stands beside the map. */
export function HandBar({hand}: {readonly hand: Hand}) {
  const {mode, says, done} = hand;
  const count = hand.corners.value;
  const changes = isChange(mode);
  return (
    <section class="hand-bar no-print" aria-label="Drawing">
      <p>
        <b>{says}</b> <span class="small">{HOW[mode]}</span> <span class="small soft keys">{KEYS[mode]}</span>
      </p>
      <span class="small figures count" role="status">
        {hand.carried.value ? "carrying one; " : ""}
        {count === 1 ? `1 ${changes ? "change" : "corner"}` : `${count} ${changes ? "changes" : "corners"}`}
      </span>
      <button type="button" class="primary" disabled={count < LEAST[mode]} onClick={() => hand.finish()}>
        {done}
      </button>
      <button type="button" disabled={count === 0} onClick={hand.back} aria-keyshortcuts="Backspace">
        {changes ? "Take back" : "Last corner back"}
      </button>
      <button type="button" class="plain" onClick={hand.cancel} aria-keyshortcuts="Escape">
        give up
      </button>
    </section>
  );
}
