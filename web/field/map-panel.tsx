import {effect, signal, useSignal} from "@preact/signals";
import type {MultiPolygon} from "geojson";
import {useEffect, useRef} from "preact/hooks";
import type {FieldCard, FieldPage, Strategy} from "../api/types.ts";
import {groundsOnMap} from "../hands/ground/grounds-on-map.ts";
import {boxOf, type FieldMap, makeFieldMap} from "../map/field-map.ts";
import {fontsReady} from "../map/maplibre.ts";
import type {Scene} from "../map/scene.ts";
import {NAMES, sceneOf} from "../map/scenes.ts";
import {showTogether} from "../map/show-together.ts";
import {watchDrawing} from "../map/watch-drawing.ts";
import {page, result} from "../state/field.ts";
import {openMap} from "../state/maps.ts";
import {queue} from "../state/queue.ts";
import {shapesOnTheWay} from "../state/shapes.ts";
import {chooseZone, chosenZone, enlarged, pointedAt, select, selection, show} from "../state/view.ts";
import {lookAt} from "../working/at-point.ts";
import {joinMaps} from "./move-together.ts";
import {NorthArrow, ScaleBar} from "./scale-and-north.tsx";
import {wanted} from "./three-maps.tsx";
import {UnitCaption} from "./unit-caption.tsx";
import {locating} from "./where-am-i.tsx";

/** How far in all three maps are, metres a pixel: one scale bar for all. */
export const groundScale = signal(1);

interface Props {
  readonly strategy: Strategy;
  readonly page: FieldPage;
  readonly large: boolean;
}

/** One strategy's map with its caption, scale and north. */
export function MapPanel({strategy, page: field, large}: Props) {
  const container = useRef<HTMLDivElement>(null);
  const scene = useSignal<Scene | undefined>(undefined);
  const drawing = useSignal(true);
  const outline = outlineOf(field.card.outline);

  useEffect(() => {
    let gone = false;
    let clear = () => {
      gone = true;
    };
    const showing = showTogether(container.current as HTMLElement);
    // Shapes are asked for while the map is still starting.
    const stopAsking = effect(() => {
      if (wanted.value) scene.value = sceneOf(strategy, wanted.value);
    });
    void inTurn()
      .then(() => (gone ? undefined : makeFieldMap(container.current as HTMLElement, outline, NAMES[strategy])))
      .then(async (map) => {
        await fontsReady();
        stopAsking();
        if (!map) return;
        if (gone) return map.remove();
        const leave = live(map, strategy, (next) => {
          scene.value = next;
        });
        const stopWatching = watchDrawing(map.gl, shapesOnTheWay, (now) => {
          drawing.value = now;
          if (!now) showing.made();
        });
        clear = () => {
          stopWatching();
          leave();
        };
      });
    return () => {
      showing.leave();
      clear();
    };
  }, []);

  return (
    <figure class={`map ${large ? "large" : ""}`} data-strategy={strategy} aria-busy={drawing.value}>
      <figcaption>
        <h2>{NAMES[strategy]}</h2>
        <span class="note-right">{scene.value?.note ?? ""}</span>
      </figcaption>
      <div class="plate" style={{"--shape": String(shapeOf(outline))}}>
        <div class="gl" ref={container} />
        <div class="under">
          <ScaleBar metresPerPixel={groundScale.value} />
          <span class="spacer" />
          <button
            type="button"
            class="plain enlarge no-print"
            onClick={() => toggleLarge(strategy)}
            aria-pressed={enlarged.value === strategy}
          >
            {enlarged.value === strategy ? "all three" : "enlarge"}
            <span class="unseen"> the map of {NAMES[strategy].toLowerCase()}</span>
          </button>
          <NorthArrow />
        </div>
      </div>
      <UnitCaption strategy={strategy} scene={scene.value} />
    </figure>
  );
}

const turns = queue();

/** One map after another, so that the page answers between them. */
const inTurn = (): Promise<unknown> => turns(() => new Promise((resolve) => setTimeout(resolve)));

/** Keeps a map in step with what is to be shown, chosen and pointed at, until it is taken away. */
function live(map: FieldMap, strategy: Strategy, tell: (scene: Scene) => void): () => void {
  const {gl} = map;
  const leave = joinMaps(gl, map.fit);
  const close = openMap(strategy, map);
  const measure = () => {
    groundScale.value = (40_075_016.686 * Math.cos((gl.getCenter().lat * Math.PI) / 180)) / (512 * 2 ** gl.getZoom());
  };
  measure();
  gl.on("zoom", measure);
  gl.on("click", ({lngLat}) => {
    const unit = gl.queryRenderedFeatures(gl.project(lngLat), {layers: ["areas"]})[0]?.properties.unit as
      | string
      | undefined;
    if (show.value === "zones" && unit?.startsWith("zone ")) return chooseZone(Number(unit.slice(5)));
    select({strategy, lon: lngLat.lng, lat: lngLat.lat, ...(unit && !unit.startsWith("zone ") && {unit})});
    if (result.value) void lookAt(result.value.id, lngLat.lng, lngLat.lat);
  });
  // On a touch screen one finger scrolls the page past the three maps; the enlarged one is panned with it.
  const stopYielding = effect(() => {
    const yields = matchMedia("(pointer: coarse)").matches && enlarged.value !== strategy;
    if (yields) gl.cooperativeGestures.enable();
    else gl.cooperativeGestures.disable();
  });
  const stopDrawing = effect(() => {
    if (!wanted.value) return;
    const scene = sceneOf(strategy, wanted.value);
    map.draw(scene);
    tell(scene);
  });
  const stopMarking = effect(() => {
    const unit = selection.value?.strategy === strategy ? selection.value.unit : undefined;
    const zone = show.value === "zones" && chosenZone.value !== undefined ? `zone ${chosenZone.value}` : undefined;
    const chosen = zone ?? unit;
    map.mark(chosen, pointedAt.value ?? placeOf(selection.value));
  });
  const stopGoing = effect(() => {
    const place = pointedAt.value;
    if (place && !gl.getBounds().contains([place.lon, place.lat])) gl.jumpTo({center: [place.lon, place.lat]});
  });
  const stopStanding = effect(() => map.here(locating.value));
  const stopGrounds = effect(() => map.grounds(groundsOnMap()));
  const stopOutline = effect(() => {
    const drawn = page.value?.card.outline;
    if (drawn) map.outline(outlineOf(drawn));
  });
  return () => {
    stopYielding();
    stopStanding();
    stopGrounds();
    stopOutline();
    stopDrawing();
    stopMarking();
    stopGoing();
    leave();
    close();
    map.remove();
  };
}

const outlineOf = (outline: FieldCard["outline"]): MultiPolygon => ({
  type: "MultiPolygon",
  coordinates: outline as unknown as MultiPolygon["coordinates"],
});

function placeOf(chosen: (typeof selection)["value"]): {lon: number; lat: number} | undefined {
  return chosen?.lon !== undefined && chosen.lat !== undefined ? {lon: chosen.lon, lat: chosen.lat} : undefined;
}

/** Height over width on the ground, within what a plate can take. */
function shapeOf(outline: MultiPolygon): number {
  const [west, south, east, north] = boxOf(outline);
  const width = (east - west) * Math.cos((south * Math.PI) / 180);
  return Math.max(0.6, Math.min(1.5, (north - south) / (width || 1)));
}

function toggleLarge(strategy: Strategy): void {
  enlarged.value = enlarged.value === strategy ? undefined : strategy;
}
