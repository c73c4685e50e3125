import type {Server, ServerResponse} from "node:http";

/**
 * Ends connections whose reader takes not one piece of what lies ready for it, between once and twice the time given.
 *
 * A stream of events that has nothing to tell is left alone: nothing lies ready.
 */
export function endSlowReaders(server: Server, patienceMs: number): void {
  /** Bytes taken when last looked. */
  const open = new Map<ServerResponse, number>();
  server.on("request", (_, response: ServerResponse) => {
    open.set(response, -1);
    response.once("close", () => open.delete(response));
  });
  const look = setInterval(() => {
    for (const [response, before] of open) {
      const {socket} = response;
      if (!socket) continue;
      const taken = socket.bytesWritten - socket.writableLength;
      if (socket.writableLength > 0 && taken === before) socket.destroy();
      open.set(response, taken);
    }
  }, patienceMs);
  look.unref();
  server.once("close", () => clearInterval(look));
}
