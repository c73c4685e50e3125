import {api, got, problemOf} from "./client.ts";
import type {TaskState} from "./types.ts";

const PAUSE_MS = 500;

/** Tells of a task until it ends. Returns what stops the telling (not the task). */
export function followTask(task: TaskState, tell: (state: TaskState) => void): () => void {
  const asked = {param: {id: task.id}};
  let stopped = false;
  const events = new EventSource(api.tasks[":id"].events.$path(asked));
  const hear = (state: TaskState): void => {
    if (stopped) return;
    if (state.state !== "running") stop();
    tell(state);
  };
  const stop = (): void => {
    stopped = true;
    events.close();
  };
  /** Where events do not come through: asks again and again. */
  const look = async (): Promise<void> => {
    if (stopped) return;
    const state = await got(api.tasks[":id"].$get(asked)).catch(
      (error: unknown): TaskState => ({...task, state: "failed", error: problemOf(error)}),
    );
    hear(state);
    setTimeout(look, PAUSE_MS);
  };
  events.onmessage = ({data}) => hear(JSON.parse(data as string) as TaskState);
  events.onerror = () => {
    events.close();
    void look();
  };
  return stop;
}
