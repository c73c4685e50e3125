import {signal} from "@preact/signals";
import {say} from "../units/shown.ts";

/** Where the device is, while it is asked for. */
export const locating = signal<{readonly lon: number; readonly lat: number; readonly accuracy: number} | undefined>(
  undefined,
);
const refusal = signal("");
let watch: number | undefined;

/** Shows where the person with the device stands, for walking to cores. */
export function WhereAmI() {
  if (!("geolocation" in navigator)) return null;
  const on = locating.value;
  return (
    <>
      <button type="button" class="plain where" aria-pressed={watch !== undefined} onClick={toggle}>
        {on ? "hide where I am" : "where am I"}
      </button>
      <span class="small soft" role="status">
        {on ? `within ${say(on.accuracy, "m")}` : refusal.value}
      </span>
    </>
  );
}

function toggle(): void {
  if (watch !== undefined) {
    navigator.geolocation.clearWatch(watch);
    watch = undefined;
    locating.value = undefined;
    return;
  }
  refusal.value = "asking the device…";
  watch = navigator.geolocation.watchPosition(
    ({coords}) => {
      refusal.value = "";
      locating.value = {lon: coords.longitude, lat: coords.latitude, accuracy: coords.accuracy};
    },
    ({code}) => {
      if (watch !== undefined) navigator.geolocation.clearWatch(watch);
      watch = undefined;
      locating.value = undefined;
      refusal.value =
        code === 1 ? "The browser may not tell: allow location for this page." : "The device does not know.";
    },
    {enableHighAccuracy: true},
  );
}
