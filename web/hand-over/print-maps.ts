import type {GlMap} from "../map/maplibre.ts";
import {openMaps} from "../state/maps.ts";

// A map is drawn for the screen. Before the page is printed each gives a picture of itself as large as it will be on
// the sheet, so that its words can be read, and fine enough for paper. Its scale bar keeps its share of the width.

/** A sheet between its margins, in pixels of 1/96 in: what maps share the width of. */
const SHEET_WIDTH = 700;
/** Tallest a picture may be on the sheet; one that would be taller is narrower instead. */
const MOST_TALL_MM = 150;
/** Pixels for each of the screen's, and the most on a side. */
const FINER = 4;
const MOST_PIXELS = 4000;

let undo: (() => void)[] = [];

addEventListener("beforeprint", () => {
  putBack();
  const open = [...openMaps.peek().values()].filter(({gl}) => gl.getContainer().clientWidth > 0);
  const pictures = open.map(({gl}) => {
    const container = gl.getContainer();
    const picture = pictureOf(gl, Math.floor(SHEET_WIDTH / open.length));
    container.append(picture);
    const straighten = shrinkBar(container.closest<HTMLElement>(".plate"), picture.width / picture.height);
    return () => {
      picture.remove();
      straighten();
    };
  });
  undo = [...pictures, chartsLast()];
});

addEventListener("afterprint", putBack);

function putBack(): void {
  for (const step of undo) step();
  undo = [];
}

function pictureOf(gl: GlMap, width: number): HTMLCanvasElement {
  const container = gl.getContainer();
  const ratio = gl.getPixelRatio();
  const {clientWidth, clientHeight} = container;
  const height = Math.round((clientHeight / clientWidth) * width);
  const view = {center: gl.getCenter(), zoom: gl.getZoom()};
  container.style.cssText = `inset: 0 auto auto 0; width: ${width}px; height: ${height}px`;
  gl.setPixelRatio(Math.min(FINER, MOST_PIXELS / Math.max(width, height)));
  gl.jumpTo({...view, zoom: view.zoom + Math.log2(width / clientWidth)});
  gl.redraw();
  const drawn = gl.getCanvas();
  const bitmap = new OffscreenCanvas(drawn.width, drawn.height);
  bitmap.getContext("2d")?.drawImage(drawn, 0, 0);
  const picture = document.createElement("canvas");
  picture.className = "printed";
  picture.style.maxHeight = `${MOST_TALL_MM}mm`;
  picture.width = drawn.width;
  picture.height = drawn.height;
  // As a finished bitmap: what is drawn on a canvas while a page is printed may be set again as lines, at another scale.
  picture.getContext("bitmaprenderer")?.transferFromImageBitmap(bitmap.transferToImageBitmap());
  container.style.cssText = "";
  gl.setPixelRatio(ratio);
  gl.jumpTo(view);
  gl.redraw();
  return picture;
}

/** On paper the title block closes the first sheet, and the charts come after it. */
function chartsLast(): () => void {
  const charts = document.querySelector(".charts");
  const before = charts?.nextSibling ?? null;
  const parent = charts?.parentNode;
  if (!charts || !parent) return () => undefined;
  document.querySelector(".field")?.append(charts);
  return () => parent.insertBefore(charts, before);
}

/**
 * Gives the bar its share of the picture's width instead of pixels.
 *
 * @param shape - Width of the picture over its height.
 */
function shrinkBar(plate: HTMLElement | null, shape: number): () => void {
  const bar = plate?.querySelector<SVGSVGElement>(".under svg");
  if (!plate || !bar) return () => undefined;
  const [width, height] = [bar.clientWidth, bar.clientHeight];
  bar.setAttribute("viewBox", `0 0 ${width} ${height}`);
  bar.setAttribute("preserveAspectRatio", "none");
  bar.style.width = `calc(${width / plate.clientWidth} * min(100cqw, ${MOST_TALL_MM * shape}mm))`;
  return () => {
    bar.removeAttribute("viewBox");
    bar.removeAttribute("preserveAspectRatio");
    bar.style.width = "";
  };
}
