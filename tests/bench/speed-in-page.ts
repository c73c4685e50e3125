// What the page is asked while it is timed, as scripts: they look at pixels, so that drawn means drawn.

/** Three maps that are mostly drawn over, and a ledger with figures in it. */
export const BENCH_READY = `(() => {
  const drawn = [...document.querySelectorAll("figure.map canvas")].filter((gl) => {
    const copy = document.createElement("canvas");
    copy.width = copy.height = 24;
    const context = copy.getContext("2d", {willReadFrequently: true});
    context.drawImage(gl, 0, 0, 24, 24);
    const {data} = context.getImageData(0, 0, 24, 24);
    let off = 0;
    for (let i = 0; i < data.length; i += 4) {
      const ground = [0xf3, 0xef, 0xe4].every((g, c) => Math.abs(data[i + c] - g) <= 8);
      if (!ground && data[i + 3] > 0) off++;
    }
    return off / (24 * 24) > 0.2;
  });
  return drawn.length === 3 && document.querySelectorAll(".ledger td").length > 0;
})()`;

/** Keeps the length of every task over 50 ms in \`longTasks\`. */
export const KEEP_LONG_TASKS = `
globalThis.longTasks = [];
new PerformanceObserver((list) => {
  for (const {duration} of list.getEntries()) globalThis.longTasks.push(duration);
}).observe({type: "longtask", buffered: true});`;

/** True when the map of zones looks as it did the last three times it was asked. */
export const ZONES_STILL = `(() => {
  const gl = document.querySelector('figure.map[data-strategy="zone"] canvas');
  const now = gl?.toDataURL() ?? "";
  globalThis.same = now === globalThis.before ? (globalThis.same ?? 0) + 1 : 0;
  globalThis.before = now;
  return globalThis.same >= 3;
})()`;

/**
 * Begins to count at the next change of a setting. \`zonesDrawn\` is the time until the map of zones showed what it shows
 * at the end, known when nothing has changed on it for two seconds: how sure it all is comes later and changes no zones.
 */
export const WATCH_ZONES = `(() => {
  globalThis.zonesDrawn = undefined;
  const gl = document.querySelector('figure.map[data-strategy="zone"] canvas');
  const copy = document.createElement("canvas");
  copy.width = copy.height = 64;
  const context = copy.getContext("2d", {willReadFrequently: true});
  let began = 0;
  let last;
  let lastChange = 0;
  let changes = 0;
  addEventListener("change", () => { began = performance.now(); }, {capture: true, once: true});
  const look = () => {
    const now = performance.now();
    context.drawImage(gl, 0, 0, 64, 64);
    let hash = 0;
    for (const value of context.getImageData(0, 0, 64, 64).data) hash = (hash * 31 + value) | 0;
    if (hash !== last) {
      if (last !== undefined && began > 0) changes++;
      last = hash;
      lastChange = now;
    }
    if (changes > 0 && now - lastChange > 2000) globalThis.zonesDrawn = lastChange - began;
    else requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
})()`;
