import {signal} from "@preact/signals";
import type {ComponentType} from "preact";
import {useEffect, useLayoutEffect, useRef} from "preact/hooks";
import {away} from "./api/away.ts";
import {BookPage} from "./book/book-page.tsx";
import {DropAnywhere} from "./files/drop-anywhere.tsx";
import {AwayNote} from "./parts/away-note.tsx";
import {loadBook} from "./state/book.ts";
import {leaveField, lookAgain, openField, resumeField} from "./state/field.ts";
import {viewAgain} from "./state/keep-view.ts";
import {hearOtherTabs} from "./state/other-tabs.ts";
import {route} from "./state/route.ts";

/** The page of a field brings the map library, by far the most of the program; the book does without it. */
const fieldPage = signal<ComponentType | undefined>(undefined);

async function loadFieldPage(): Promise<void> {
  const {FieldPage} = await import("./field/field-page.tsx");
  fieldPage.value = FieldPage;
}

if (route.value.page === "field") void loadFieldPage();

export function Bench() {
  const here = route.value;
  const key = here.page === "field" ? here.id : "";
  // At once and not when the page has been painted.
  useLayoutEffect(() => {
    if (here.page === "field") {
      void loadFieldPage();
      // What is wanted of the rest of the book can wait.
      void openField(here.id, viewAgain).then(loadBook);
    } else {
      leaveField();
      void loadBook();
    }
  }, [key]);
  const gone = away.value;
  const wasGone = useRef(false);
  useEffect(() => {
    if (gone) wasGone.current = true;
    if (gone || !wasGone.current) return;
    void loadBook();
    void resumeField();
  }, [gone]);
  // Book and field may have been written to meanwhile, by the command line or another page.
  useEffect(
    () =>
      hearOtherTabs(
        (field) => {
          if (route.value.page === "book") void loadBook();
          else void lookAgain(field);
        },
        () => void lookAgain(),
      ),
    [],
  );
  return (
    <>
      <AwayNote />
      <DropAnywhere>{here.page === "field" ? <Field /> : <BookPage />}</DropAnywhere>
    </>
  );
}

function Field() {
  const Page = fieldPage.value;
  return Page ? <Page /> : <p style="padding: 24px 20px">Opening the field…</p>;
}
