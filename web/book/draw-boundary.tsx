import {useSignal} from "@preact/signals";
import {useEffect, useRef} from "preact/hooks";
import {NorthArrow, ScaleBar} from "../field/scale-and-north.tsx";
import {atHand} from "../map/at-hand.ts";
import {metresPerPixel} from "../map/field-map.ts";
import {startHand} from "../map/hand.ts";
import {HandBar} from "../map/hand-bar.tsx";
import {type GlMap, maplibre} from "../map/maplibre.ts";
import {fields} from "../state/book.ts";

interface Props {
  readonly done: (boundary: File) => void;
  readonly leave: () => void;
}

/** A boundary drawn by hand over a blank sheet: go to a place by its coordinates, then click corner by corner. */
export function DrawBoundary({done, leave}: Props) {
  const container = useRef<HTMLDivElement>(null);
  const map = useRef<GlMap | undefined>(undefined);
  const scale = useSignal(1);
  const place = useSignal("");
  const wrong = useSignal("");
  useEffect(() => {
    const first = fields.value?.[0]?.outline[0]?.[0]?.[0];
    const gl = new maplibre.Map({
      container: container.current as HTMLElement,
      attributionControl: false,
      dragRotate: false,
      center: first ? [first[0], first[1]] : [-90, 41],
      zoom: first ? 14 : 4,
      style: {version: 8, sources: {}, layers: [{id: "g", type: "background", paint: {"background-color": "#f3efe4"}}]},
    });
    map.current = gl;
    const measure = () => {
      scale.value = metresPerPixel(gl);
    };
    gl.on("zoom", measure);
    measure();
    gl.once("load", () => {
      for (const card of fields.value ?? []) outlineOf(gl, card.id, card.outline);
      startHand(gl, "polygon", {
        says: "The edge of the field.",
        done: "Close it",
        snapTo: (fields.value ?? []).map(({outline}) => multiPolygon(outline)),
        finish: (geometry) => {
          const boundary = {type: "Feature", properties: {}, geometry};
          done(new File([JSON.stringify(boundary)], "drawn-boundary.geojson", {type: "application/geo+json"}));
        },
        cancel: leave,
      });
    });
    return () => gl.remove();
  }, []);
  const goThere = (event: Event) => {
    event.preventDefault();
    const [lat, lon] = place.value.split(/[\s,;]+/).map(Number);
    if (lat === undefined || lon === undefined || !(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) {
      wrong.value = `"${place.value}" is not a latitude and a longitude. Write them as 40.55, -86.40.`;
      return;
    }
    wrong.value = "";
    map.current?.jumpTo({center: [lon, lat], zoom: 15});
  };
  return (
    <>
      <h2>Draw a boundary</h2>
      <form class="pair" onSubmit={goThere}>
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
          <button type="submit">Go there</button>{" "}
          <button type="button" class="plain" onClick={leave}>
            leave it
          </button>
        </span>
      </form>
      {wrong.value && (
        <p class="problem small" role="alert">
          {wrong.value}
        </p>
      )}
      {atHand.value && <HandBar hand={atHand.value} />}
      <div class="plate">
        <div class="gl" ref={container} />
        <div class="under">
          <ScaleBar metresPerPixel={scale.value} />
          <NorthArrow />
        </div>
      </div>
    </>
  );
}

/** A field of the book, to draw beside. */
function outlineOf(gl: GlMap, id: string, outline: unknown): void {
  gl.addSource(id, {type: "geojson", data: {type: "Feature", properties: {}, geometry: multiPolygon(outline)}});
  gl.addLayer({id, type: "line", source: id, paint: {"line-color": "#5d676a", "line-dasharray": [3, 2]}});
}

const multiPolygon = (outline: unknown) => ({type: "MultiPolygon", coordinates: outline}) as GeoJSON.MultiPolygon;
