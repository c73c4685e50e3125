import {useSignal} from "@preact/signals";

/** Brings a place into view by its latitude and longitude. */
export function GoThere({go}: {readonly go: (lonLat: readonly [number, number]) => void}) {
  const place = useSignal("");
  const wrong = useSignal("");
  const submit = (event: Event) => {
    event.preventDefault();
    const [lat, lon] = place.value
      .trim()
      .split(/[\s,;]+/)
      .map(Number);
    if (lat === undefined || lon === undefined || !(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) {
      wrong.value = `"${place.value}" is not a latitude and a longitude. Write them as 40.55, -86.40.`;
      return;
    }
    wrong.value = "";
    go([lon, lat]);
  };
  return (
    <>
      <form class="pair" onSubmit={submit}>
        <label>
          Latitude and longitude
          <input
            type="text"
            placeholder="40.55, -86.40"
            value={place.value}
            onInput={({currentTarget}) => {
              place.value = currentTarget.value;
            }}
          />
        </label>
        <span style="align-self:end">
          <button type="submit">Go there</button>
        </span>
      </form>
      {wrong.value && (
        <p class="problem small" role="alert">
          {wrong.value}
        </p>
      )}
    </>
  );
}
