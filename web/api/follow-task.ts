import {ask, problemOf} from "./client.ts";
import type {TaskState} from "./types.ts";

const PAUSE_MS = 350;

/** Tells of a task until it ends. Returns what stops the telling (not the task). */
export function followTask(task: TaskState, tell: (state: TaskState) => void): () => void {
  let stopped = false;
  const look = async (): Promise<void> => {
    if (stopped) return;
    let state: TaskState;
    try {
      state = await ask<TaskState>(`/api/tasks/${encodeURIComponent(task.id)}`);
    } catch (error) {
      state = {...task, state: "failed", error: problemOf(error)};
    }
    if (stopped) return;
    tell(state);
    if (state.state === "running") setTimeout(look, PAUSE_MS);
  };
  setTimeout(look, PAUSE_MS / 3);
  return () => {
    stopped = true;
  };
}
