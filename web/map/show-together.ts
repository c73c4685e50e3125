const LONGEST_MS = 3000;
const LOOK_AGAIN_MS = 50;

/** Maps whose first drawing is not whole, and since when those are whole that wait for them. */
const unmade = new Set<HTMLElement>();
const waiting = new Map<HTMLElement, number>();

/**
 * Maps that are opened together are shown together, when all in sight are whole: to put every step of a first drawing on
 * the screen takes longer than to draw it, and the page waits for it.
 *
 * @param container - Of a map that is being made; its class is `making` until it is shown.
 * @returns `made`, to be called when the map is whole, and `leave`, when it is taken away.
 */
export function showTogether(container: HTMLElement): {made(): void; leave(): void} {
  unmade.add(container);
  container.classList.add("making");
  return {
    leave() {
      unmade.delete(container);
      waiting.delete(container);
    },
    made() {
      if (!unmade.delete(container)) return;
      waiting.set(container, performance.now());
      show();
    },
  };
}

/** Another may be made, leave, or be put out of sight. One that never becomes whole is not waited for without end. */
function show(): void {
  const others = [...unmade].some((container) => container.offsetParent !== null);
  for (const [container, since] of waiting) {
    if (others && performance.now() - since < LONGEST_MS) continue;
    container.classList.remove("making");
    waiting.delete(container);
  }
  if (waiting.size > 0) setTimeout(show, LOOK_AGAIN_MS);
}
