// What the page is asked while it is timed, as scripts: they look at pixels, so that drawn means drawn.

/** Three maps that say they are drawn, and a ledger with figures in it. */
export const BENCH_SAYS_READY = `(() => {
  const maps = document.querySelectorAll("figure.map");
  const busy = document.querySelectorAll("figure.map[aria-busy=true], figure.map:not(:has(canvas))");
  return maps.length === 3 && busy.length === 0 && document.querySelectorAll(".ledger td").length > 0;
})()`;

/** Keeps every task over 50 ms, and how long it was looked at pixels: that waits for the graphics and is our own doing. */
export const KEEP_LONG_TASKS = `
globalThis.tasks = [];
globalThis.looks = [];
new PerformanceObserver((list) => {
  for (const {startTime, duration} of list.getEntries()) globalThis.tasks.push([startTime, startTime + duration]);
}).observe({type: "longtask", buffered: true});
globalThis.pixelsOf = (canvas, size) => {
  const start = performance.now();
  const copy = document.createElement("canvas");
  copy.width = copy.height = size;
  const context = copy.getContext("2d", {willReadFrequently: true});
  context.drawImage(canvas, 0, 0, size, size);
  const {data} = context.getImageData(0, 0, size, size);
  globalThis.looks.push([start, performance.now()]);
  return data;
};`;

/** Milliseconds of the page's tasks over 50 ms, our own looking left out. */
export const LONG_TASKS = `globalThis.tasks.map(([start, end]) => globalThis.looks.reduce(
  (ms, [from, to]) => ms - Math.max(0, Math.min(end, to) - Math.max(start, from)), end - start))`;

/** Three maps that are mostly drawn over. Whoever asks waits for the graphics to be done. */
export const BENCH_IS_DRAWN = `(() => {
  const drawn = [...document.querySelectorAll("figure.map canvas")].filter((gl) => {
    const data = globalThis.pixelsOf(gl, 24);
    let off = 0;
    for (let i = 0; i < data.length; i += 4) {
      const ground = [0xf3, 0xef, 0xe4].every((g, c) => Math.abs(data[i + c] - g) <= 8);
      if (!ground && data[i + 3] > 0) off++;
    }
    return off / (24 * 24) > 0.2;
  });
  return drawn.length === 3;
})()`;

/** True when the map of zones looks as it did the last three times it was asked. */
export const ZONES_STILL = `(() => {
  const gl = document.querySelector('figure.map[data-strategy="zone"] canvas');
  const now = gl?.toDataURL() ?? "";
  globalThis.same = now === globalThis.before ? (globalThis.same ?? 0) + 1 : 0;
  globalThis.before = now;
  return globalThis.same >= 3;
})()`;

/**
 * Begins to count at the next change of a setting. Whenever the map of zones says it is drawn, its pixels are looked at:
 * `zonesDrawn` is the time until it showed what it shows at the end, known when nothing has changed on it for two
 * seconds. How sure it all is comes later and changes no zones.
 */
export const WATCH_ZONES = `(() => {
  globalThis.zonesDrawn = undefined;
  const map = document.querySelector('figure.map[data-strategy="zone"]');
  const look = () => globalThis.pixelsOf(map.querySelector("canvas"), 64).join();
  const before = look();
  let began = 0;
  let last = before;
  let rest;
  addEventListener("change", () => { began = performance.now(); }, {capture: true, once: true});
  const watch = new MutationObserver(() => {
    if (began === 0 || map.getAttribute("aria-busy") === "true") return;
    const now = look();
    if (now === last) return;
    last = now;
    const took = performance.now() - began;
    clearTimeout(rest);
    rest = setTimeout(() => {
      watch.disconnect();
      globalThis.zonesDrawn = took;
    }, 2000);
  });
  watch.observe(map, {attributeFilter: ["aria-busy"]});
})()`;
