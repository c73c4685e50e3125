const LONGEST_MS = 3000;

const unmade = new Set<HTMLElement>();
const waiting = new Set<HTMLElement>();

/**
 * Maps that are opened together are shown together, when all are whole: to put every step of a first drawing on the
 * screen takes longer than to draw it, and the page waits for it.
 *
 * @param container - Of a map that is being made; its class is `making` until it is shown.
 * @returns `made`, to be called when the map is whole, and `leave`, when it is taken away.
 */
export function showTogether(container: HTMLElement): {made(): void; leave(): void} {
  unmade.add(container);
  container.classList.add("making");
  const leave = (): void => {
    waiting.delete(container);
    unmade.delete(container);
    showIfAll();
  };
  return {
    leave,
    made() {
      if (!unmade.delete(container)) return;
      waiting.add(container);
      // One that never becomes whole does not keep the others from being seen.
      setTimeout(() => show(container), LONGEST_MS);
      showIfAll();
    },
  };
}

function showIfAll(): void {
  if (unmade.size > 0) return;
  for (const container of waiting) show(container);
  waiting.clear();
}

const show = (container: HTMLElement): void => container.classList.remove("making");
