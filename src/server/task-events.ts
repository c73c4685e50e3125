import type {TaskState} from "./api-types.ts";
import type {Tasks} from "./tasks.ts";

/** A sign of life, so that neither side takes the other for gone. */
const PING_MS = 15_000;

/** The states of a run as server-sent events, from the present one to the last. */
export function taskEvents(tasks: Tasks, id: string): ReadableStream<Uint8Array<ArrayBuffer>> {
  const encoder = new TextEncoder();
  let end = (): void => undefined;
  return new ReadableStream({
    start(controller) {
      const send = (text: string): void => controller.enqueue(encoder.encode(text) as Uint8Array<ArrayBuffer>);
      const ping = setInterval(() => send(": still running\n\n"), PING_MS);
      let stop = (): void => undefined;
      end = () => {
        clearInterval(ping);
        stop();
      };
      let over = false;
      stop = tasks.watch(id, (state: TaskState) => {
        if (over) return;
        send(`data: ${JSON.stringify(state)}\n\n`);
        if (state.state === "running") return;
        over = true;
        clearInterval(ping);
        controller.close();
        stop();
      });
      if (over) end();
    },
    cancel: () => end(),
  });
}
