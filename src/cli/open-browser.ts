import {spawn} from "node:child_process";

/** Shows an address in the browser of whoever sits at this machine; where there is none nothing happens. */
export function openBrowser(url: string): void {
  const [command, ...args] = openerOf(process.platform, process.env) ?? [];
  if (command === undefined) return;
  try {
    spawn(command, [...args, url], {detached: true, stdio: "ignore"})
      .on("error", () => undefined)
      .unref();
  } catch {
    // The address was printed: it can be opened by hand.
  }
}

/** What opens addresses on a system; undefined where nobody sees a screen. */
export function openerOf(
  platform: NodeJS.Platform,
  {DISPLAY, WAYLAND_DISPLAY}: Readonly<Record<string, string | undefined>>,
): string[] | undefined {
  if (platform === "darwin") return ["open"];
  // The empty word is the title of a window, which `start` takes the first quoted word for.
  if (platform === "win32") return ["cmd", "/c", "start", '""'];
  return DISPLAY || WAYLAND_DISPLAY ? ["xdg-open"] : undefined;
}
