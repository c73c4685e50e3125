import type {CallContext, Handlers} from "./calls.ts";
import type {Shelf} from "./shelf.ts";
import type {Thread} from "./thread.ts";

type Method = Exclude<keyof Shelf, "name">;

const METHODS: readonly Method[] = [
  "list",
  "field",
  "addField",
  "putJob",
  "jobAt",
  "keepRun",
  "keepView",
  "cardOf",
  "viewOf",
  "looks",
  "keepLook",
  "fact",
  "noteFact",
  "keepHandOver",
  "bytes",
  "resultFile",
  "preferences",
  "putPreferences",
  "close",
];

/**
 * The handlers of the thread a shelf is in. Calls are answered one after another.
 *
 * @param open - Opens the shelf; called with what `threadShelf` was given.
 */
export function shelfHandlers<Given>(open: (given: Given) => Promise<Shelf>): Handlers {
  let shelf: Shelf | undefined;
  const handlers: Record<string, (args: never, context: CallContext) => Promise<unknown>> = {
    open: async (given: Given) => {
      shelf = await open(given);
      return shelf.name;
    },
  };
  for (const method of METHODS) {
    handlers[method] = async (args: readonly unknown[]) => {
      if (!shelf) throw new Error("the shelf has not been opened");
      return (shelf[method] as (...given: readonly unknown[]) => Promise<unknown>)(...args);
    };
  }
  return handlers;
}

/**
 * A shelf whose work is done in a thread, so that reading and writing large files never stops the server.
 *
 * @throws {FieldError} whatever opening refuses; the thread has ended by then.
 */
export async function threadShelf(thread: Thread, given: unknown): Promise<Shelf> {
  let name: string;
  try {
    name = await thread.call<string>("open", given);
  } catch (error) {
    await thread.end();
    throw error;
  }
  const methods = Object.fromEntries(
    METHODS.map((method) => [method, (...args: readonly unknown[]) => thread.call(method, args)]),
  ) as unknown as Omit<Shelf, "name">;
  return {
    ...methods,
    name,
    close: async () => {
      await thread.call("close", []);
      await thread.end();
    },
  };
}
