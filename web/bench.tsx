import {useEffect} from "preact/hooks";
import {away} from "./api/away.ts";
import {BookPage} from "./book/book-page.tsx";
import {FieldPage} from "./field/field-page.tsx";
import {DropAnywhere} from "./files/drop-anywhere.tsx";
import {AwayNote} from "./parts/away-note.tsx";
import {loadBook} from "./state/book.ts";
import {leaveField, lookAgain, openField, resumeField} from "./state/field.ts";
import {hearOtherTabs} from "./state/other-tabs.ts";
import {route} from "./state/route.ts";

export function Bench() {
  const here = route.value;
  const key = here.page === "field" ? here.id : "";
  useEffect(() => {
    if (here.page === "field") void openField(here.id);
    else {
      leaveField();
      void loadBook();
    }
  }, [key]);
  const gone = away.value;
  useEffect(() => {
    if (gone) return;
    void loadBook();
    void resumeField();
  }, [gone]);
  // Book and field may have been written to meanwhile, by the command line or another page.
  useEffect(
    () =>
      hearOtherTabs((field) => {
        if (route.value.page === "book") void loadBook();
        else void lookAgain(field);
      }),
    [],
  );
  return (
    <>
      <AwayNote />
      <DropAnywhere>{here.page === "field" ? <FieldPage /> : <BookPage />}</DropAnywhere>
    </>
  );
}
