import {useEffect} from "preact/hooks";
import {session} from "../state/book.ts";
import {page, result} from "../state/field.ts";
import {guides, loadGuides, USUAL_GUIDE} from "../stations/guides.ts";
import {read} from "../stations/job-path.ts";

/** The corner of the sheet: what it rests on and what to check before it is used. */
export function TitleBlock() {
  useEffect(loadGuides, []);
  const found = page.value;
  if (!found) return null;
  const made = result.value;
  const crops = (read(found.job, ["rates", "crops"]) as readonly {crop?: string}[] | undefined) ?? [];
  return (
    <dl class="title-block">
      <div>
        <dt>field</dt>
        <dd>
          {found.card.name}
          {found.card.farm && `, ${found.card.farm}`}
        </dd>
      </div>
      <div>
        <dt>for</dt>
        <dd>{crops.length > 0 ? crops.map(({crop}) => crop).join(", ") : "no crops named yet"}</dd>
      </div>
      <div>
        <dt>guide</dt>
        <dd>{guideName(read(found.job, ["rates", "guide"]) ?? USUAL_GUIDE)}</dd>
      </div>
      <div>
        <dt>worked out</dt>
        <dd>{made ? `${when(made.madeAt)}, change ${made.version}` : "not yet"}</dd>
      </div>
      <div class="wide">
        <dt>caution</dt>
        <dd>
          {session.value?.caution ??
            "Check rates against local nutrient rules and setbacks, have a licensed or certified adviser sign, and verify the controller's reading of the file before spreading."}
        </dd>
      </div>
    </dl>
  );
}

const guideName = (guide: unknown): string =>
  typeof guide === "string" ? (guides.value.find(({id}) => id === guide)?.name ?? guide) : "your own, from a file";

function when(iso: string): string {
  const date = new Date(iso);
  return Number.isNaN(date.getTime()) ? iso : date.toLocaleString("en-GB", {dateStyle: "medium", timeStyle: "short"});
}
