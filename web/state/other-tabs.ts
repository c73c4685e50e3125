// Tabs of one browser that show the same field tell one another of changes; what another browser or the command line
// does is found out when a tab is looked at again.

const channel = new BroadcastChannel("loamwright");

export function tellOtherTabs(field: string): void {
  channel.postMessage(field);
}

/** Calls `hear` with the field that was, or may have been, changed. Returns what ends it. */
export function hearOtherTabs(hear: (field?: string) => void): () => void {
  const told = ({data}: MessageEvent<string>) => hear(data);
  const seenAgain = () => hear();
  channel.addEventListener("message", told);
  addEventListener("focus", seenAgain);
  return () => {
    channel.removeEventListener("message", told);
    removeEventListener("focus", seenAgain);
  };
}
