import type {ApiProblem, Place} from "../api/types.ts";
import {unitPlace} from "../state/units.ts";
import {pointedAt, select} from "../state/view.ts";

/** What went wrong, in the server's words: the sentence, where, and what to do. */
export function Problem({problem}: {readonly problem: ApiProblem}) {
  return (
    <div class="problem" role="alert">
      <p>
        <b>{problem.message}</b> {problem.hint}
      </p>
      {problem.place && <PlaceText place={problem.place} />}
      {problem.issues && problem.issues.length > 0 && (
        <ul>
          {problem.issues.map((issue) => (
            <li key={issue.message}>
              {issue.message} {issue.hint}
              {issue.place?.lon !== undefined && <PlaceText place={issue.place} />}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

/** Where a remark is about: a place on the map can be pointed at. */
export function PlaceText({place}: {readonly place: Place}) {
  const words = [
    place.file,
    place.row !== undefined ? `row ${place.row}` : undefined,
    place.column !== undefined ? `column "${place.column}"` : undefined,
    place.featureId !== undefined ? `shape ${place.featureId}` : undefined,
  ].filter((word) => word !== undefined);
  const {lon, lat} = place;
  const unit = unitPlace(place.featureId);
  return (
    <p class="small soft">
      {words.join(", ")}
      {unit && (
        <button type="button" class="plain" onClick={() => select(unit)}>
          show it
        </button>
      )}
      {lon !== undefined && lat !== undefined && (
        <button
          type="button"
          class="plain"
          onClick={() => {
            pointedAt.value = {lon, lat};
            document.getElementById("maps")?.scrollIntoView({block: "start"});
          }}
        >
          show on the map
        </button>
      )}
    </p>
  );
}
