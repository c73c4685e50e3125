import {effect} from "@preact/signals";
import {fieldId} from "./field.ts";
import {enlarged, layerId, productIndex, type Selection, type Show, type Side, selection, show, side} from "./view.ts";

// What is looked at is kept with the browser's entry of the field's address: a reload and the way back find it again.

interface Kept {
  readonly field: string;
  readonly side: Side;
  readonly show: Show;
  readonly product: number;
  readonly layer?: string | undefined;
  readonly enlarged?: typeof enlarged.value;
  readonly selection?: Selection | undefined;
}

/** From now on; once, when the page begins. */
export function keepView(): void {
  effect(() => {
    const field = fieldId.value;
    const now: Omit<Kept, "field"> = {
      side: side.value,
      show: show.value,
      product: productIndex.value,
      layer: layerId.value,
      enlarged: enlarged.value,
      selection: selection.value,
    };
    if (field !== undefined) history.replaceState({loamwright: {field, ...now}}, "");
  });
}

/** Looks at what was looked at when the address was left; false where nothing of this field was. */
export function viewAgain(field: string): boolean {
  const kept = (history.state as {loamwright?: Kept} | null)?.loamwright;
  if (kept?.field !== field) return false;
  side.value = kept.side;
  show.value = kept.show;
  productIndex.value = kept.product;
  layerId.value = kept.layer;
  enlarged.value = kept.enlarged;
  selection.value = kept.selection;
  return true;
}
