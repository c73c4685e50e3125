import {useEffect} from "preact/hooks";
import type {FieldCard, Station} from "../api/types.ts";
import {PickFiles} from "../files/pick-files.tsx";
import {waiting} from "../files/waiting.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {SettingsButton} from "../preferences/settings-dialog.tsx";
import {bookProblem, fields, session} from "../state/book.ts";
import {cameFrom, fieldLink} from "../state/route.ts";
import {say} from "../units/shown.ts";
import {drawing, NewField} from "./new-field.tsx";
import {Thumbnail} from "./thumbnail.tsx";

const STATIONS: readonly Station[] = ["layers", "zones", "plan", "lab", "rates", "compare", "hand-over"];
/** The book: farms, their fields, and what is next for each. */
export function BookPage() {
  const cards = fields.value;
  const farms = [...new Set((cards ?? []).map(({farm}) => farm))].sort();
  const beginning = waiting.value.length > 0 || drawing.value;
  const left = cameFrom?.page === "field" ? cameFrom.id : undefined;
  const back = cards?.some(({id}) => id === left) ?? false;
  useEffect(() => {
    if (left !== undefined) focusOn(back ? [`a[href="${fieldLink(left)}"]`] : ["h1"]);
  }, [back]);
  return (
    <>
      <header class="head">
        <a class="mark" href="#/">
          Loamwright
        </a>
        <span class="path">the book{session.value && `, ${session.value.book}`}</span>
        <span class="spacer" />
        <SettingsButton />
      </header>
      <main class="book">
        <div class="top">
          <h1>Farms and fields</h1>
          <span class="spacer" />
          <PickFiles label="New field from a boundary file" />
          <button
            type="button"
            onClick={() => {
              drawing.value = true;
            }}
          >
            Draw a boundary
          </button>
        </div>
        {bookProblem.value && <Problem problem={bookProblem.value} />}
        {beginning && <NewField />}
        {!cards && !bookProblem.value && <p class="soft">{opening()}</p>}
        {cards?.length === 0 && !beginning && (
          <div class="empty">
            <h2>The book is empty</h2>
            <p>
              Drop a field's boundary anywhere on this page: GeoJSON, a shapefile (all its files, or a zip of them) or a
              GeoPackage. Give the field a name, then drop its yield logs, soil map, elevation and lab reports.
            </p>
          </div>
        )}
        {farms.map((farm) => (
          <section key={farm} aria-label={farm || "No farm named"}>
            <h2>{farm || "No farm named"}</h2>
            <ul class="cards">
              {(cards ?? [])
                .filter((card) => card.farm === farm)
                .map((card) => (
                  <li key={card.id}>
                    <Card card={card} />
                  </li>
                ))}
            </ul>
          </section>
        ))}
      </main>
    </>
  );
}

function Card({card}: {readonly card: FieldCard}) {
  const done = STATIONS.filter((station) => card.stations[station].state === "done").length;
  return (
    <a href={fieldLink(card.id)}>
      <Thumbnail outline={card.outline} />
      <span class="line">
        <h3>{card.name}</h3>
        <span class="figures soft">
          {say(card.acres, "ac")}
          {card.season !== undefined && `, harvests to ${card.season}`}
        </span>
      </span>
      <span class="stops" role="img" aria-label={`${done} of ${STATIONS.length} stations done`}>
        {STATIONS.map((station) => (
          <i key={station} class={card.stations[station].state} title={card.stations[station].line} />
        ))}
      </span>
      <span class="small">{nextFor(card, done)}</span>
    </a>
  );
}

/** What is waited for. */
function opening(): string {
  const words = session.value?.preparing ?? "opening the book";
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}…`;
}

/** What a person would do next: what the server says is missing, or just open the field. */
function nextFor(card: FieldCard, done: number): string {
  const {state, line} = card.stations[card.next];
  if (card.working !== undefined) return `Being worked out: ${card.working}…`;
  if (done === STATIONS.length) return "All done; the files have been handed over.";
  if (card.next === "hand-over" && state === "ready") return "Worked out; the files can be handed over.";
  return state === "waiting" ? `Next: ${line}` : "Next: open it, and what is there is worked out.";
}
