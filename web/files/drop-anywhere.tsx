import {useSignal} from "@preact/signals";
import type {ComponentChildren} from "preact";
import {useEffect} from "preact/hooks";
import {route} from "../state/route.ts";
import {openStation} from "../state/view.ts";
import {receive} from "./waiting.ts";

/** The whole page takes files. */
export function DropAnywhere({children}: {readonly children: ComponentChildren}) {
  const over = useSignal(false);
  useEffect(() => {
    const onOver = (event: DragEvent) => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      over.value = true;
    };
    const onLeave = (event: DragEvent) => {
      if (event.relatedTarget === null) over.value = false;
    };
    const onDrop = (event: DragEvent) => {
      event.preventDefault();
      over.value = false;
      take([...(event.dataTransfer?.files ?? [])]);
    };
    addEventListener("dragover", onOver);
    addEventListener("dragleave", onLeave);
    addEventListener("drop", onDrop);
    return () => {
      removeEventListener("dragover", onOver);
      removeEventListener("dragleave", onLeave);
      removeEventListener("drop", onDrop);
    };
  }, []);
  return (
    <>
      {children}
      {over.value && (
        <div class="dropping" aria-hidden="true">
          {route.value.page === "field" ? "Drop files for this field" : "Drop a boundary to begin a field"}
        </div>
      )}
    </>
  );
}

function take(files: readonly File[]): void {
  if (files.length === 0) return;
  if (route.value.page === "field") openStation("files");
  void receive(files);
}
