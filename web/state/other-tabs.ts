// Tabs of one browser that show the same field tell one another of changes; what another browser or the command line
// does is found out when a tab is looked at again, and every few seconds while it is in sight.

const EVERY_MS = 4000;

const channel = new BroadcastChannel("loamwright");

export function tellOtherTabs(field: string): void {
  channel.postMessage(field);
}

/**
 * Calls `hear` with the field that was, or may have been, changed. Returns what ends it.
 *
 * @param lookAgain - Called every few seconds while the page is in sight.
 */
export function hearOtherTabs(hear: (field?: string) => void, lookAgain: () => void): () => void {
  const told = ({data}: MessageEvent<string>) => hear(data);
  const seenAgain = () => hear();
  const timer = setInterval(() => {
    if (document.visibilityState === "visible") lookAgain();
  }, EVERY_MS);
  channel.addEventListener("message", told);
  addEventListener("focus", seenAgain);
  return () => {
    clearInterval(timer);
    channel.removeEventListener("message", told);
    removeEventListener("focus", seenAgain);
  };
}
