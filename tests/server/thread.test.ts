import {afterEach, expect, it} from "vitest";
import {startThread, type Thread} from "../../src/server/thread.ts";

let thread: Thread | undefined;
afterEach(() => thread?.end());

it("ends a thread that is stuck in a call, though another call told its step later and was answered", async () => {
  const ended: string[] = [];
  thread = startThread(
    new URL("./two-calls-thread.ts", import.meta.url),
    {},
    () => Promise.reject(new Error("asked")),
    ({name}) => ended.push(name),
  );
  const stop = new AbortController();
  const stuck = expect(thread.call("stuck", {}, {signal: stop.signal})).rejects.toMatchObject({name: "AbortError"});
  expect(await thread.call("quick", {})).toBe("done");
  stop.abort();
  await stuck;
  expect(ended).toHaveLength(1);
});
