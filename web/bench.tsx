import {useEffect} from "preact/hooks";
import {BookPage} from "./book/book-page.tsx";
import {FieldPage} from "./field/field-page.tsx";
import {DropAnywhere} from "./files/drop-anywhere.tsx";
import {loadBook} from "./state/book.ts";
import {leaveField, openField} from "./state/field.ts";
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
  useEffect(() => {
    void loadBook();
    // The book may have been written to meanwhile, by the command line or another page.
    const again = () => void (route.value.page === "book" && loadBook());
    addEventListener("focus", again);
    return () => removeEventListener("focus", again);
  }, []);
  return <DropAnywhere>{here.page === "field" ? <FieldPage /> : <BookPage />}</DropAnywhere>;
}
