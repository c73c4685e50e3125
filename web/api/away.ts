import {signal} from "@preact/signals";

/** Whether the server does not answer. While it does not, it is asked again and again. */
export const away = signal(false);

/** Of what is refused because of it. */
export const NO_SERVER = "bench/no-server";

/** A request got no answer. */
export function noAnswer(): void {
  if (away.value) return;
  away.value = true;
  void knock();
}

const PAUSE_MS = 1000;

async function knock(): Promise<void> {
  const answered = await fetch("/api/session").then(
    ({ok}) => ok,
    () => false,
  );
  if (answered) away.value = false;
  else setTimeout(knock, PAUSE_MS);
}
