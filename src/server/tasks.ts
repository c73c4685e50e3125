import {randomBytes} from "node:crypto";
import {isFieldError} from "../errors.ts";
import type {ApiError, ResultCard, TaskState} from "./api-types.ts";
import {isThreadEnded} from "./thread.ts";

/** Runs on their way. */
export interface Tasks {
  /** Begins at once. `work` is told to stop by the signal and tells its steps. */
  begin(field: string, work: (onStep: (step: string) => void, signal: AbortSignal) => Promise<ResultCard>): TaskState;
  get(id: string): TaskState | undefined;
  /** The one of a field that is going on, the first of several. */
  goingOn(field: string): TaskState | undefined;
  /** Stops between two steps; whoever watches hears of it at once. */
  cancel(id: string): TaskState | undefined;
  /** Its last state. */
  ended(id: string): Promise<TaskState>;
  /** Called with the state now and after every change. Returns what ends it. */
  watch(id: string, tell: (state: TaskState) => void): () => void;
  close(): void;
}

/** States are kept a while after the end. */
const MOST_KEPT = 100;

/** @param report - Told of failures that are no user's fault. */
export function makeTasks(report: (error: unknown) => void): Tasks {
  const states = new Map<string, TaskState>();
  const watchers = new Map<string, Set<(state: TaskState) => void>>();
  const stops = new Map<string, AbortController>();
  const tell = (state: TaskState): void => {
    states.set(state.id, state);
    for (const one of watchers.get(state.id) ?? []) one(state);
  };
  const change = (id: string, more: Partial<TaskState>): void => {
    const state = states.get(id);
    // What ended stays as it ended: a thread may still be finishing its step.
    if (state?.state === "running") tell({...state, ...more});
    if (more.state) stops.delete(id);
  };
  const watch: Tasks["watch"] = (id, take) => {
    const own = watchers.get(id) ?? new Set();
    watchers.set(id, own.add(take));
    const state = states.get(id);
    if (state) take(state);
    return () => {
      own.delete(take);
      if (own.size === 0) watchers.delete(id);
    };
  };
  return {
    begin: (field, work) => {
      for (const [id, {state}] of states) {
        if (states.size < MOST_KEPT) break;
        if (state !== "running") states.delete(id);
      }
      const id = randomBytes(9).toString("base64url");
      const start = performance.now();
      const stop = new AbortController();
      stops.set(id, stop);
      states.set(id, {id, field, step: "waiting for its turn", steps: [], state: "running"});
      const onStep = (step: string): void => {
        const steps = states.get(id)?.steps ?? [];
        change(id, {step, steps: [...steps, {step, atMs: Math.round(performance.now() - start)}]});
      };
      work(onStep, stop.signal).then(
        (result) => change(id, {state: "done", step: "done", result}),
        (error: unknown) => {
          if ((error as {name?: unknown}).name === "AbortError")
            return change(id, {state: "cancelled", step: "cancelled"});
          if (!isFieldError(error)) report(error);
          change(id, {state: "failed", step: "failed", error: apiErrorOf(error)});
        },
      );
      return states.get(id) as TaskState;
    },
    get: (id) => states.get(id),
    goingOn: (field) => [...states.values()].find((task) => task.field === field && task.state === "running"),
    cancel: (id) => {
      stops.get(id)?.abort();
      change(id, {state: "cancelled", step: "cancelled"});
      return states.get(id);
    },
    ended: (id) =>
      new Promise((resolve) => {
        const stop = watch(id, (state) => {
          if (state.state === "running") return;
          resolve(state);
          // Told at once, it has nothing to stop yet.
          queueMicrotask(() => stop());
        });
      }),
    watch,
    close: () => {
      for (const stop of stops.values()) stop.abort();
    },
  };
}

/** What a client is told of an error. Of our own faults it hears no more than that. */
export function apiErrorOf(error: unknown): ApiError {
  if (isFieldError(error)) {
    const {code, message, hint, place, issues} = error;
    return {code, message, ...(hint && {hint}), ...(place && {place}), ...(issues?.length > 0 && {issues})};
  }
  return isThreadEnded(error)
    ? {
        code: "server/thread-stopped",
        message: "The work stopped before it was done: its thread ran out of memory or failed.",
        hint: "Try again; if it happens again, choose a larger cell size.",
      }
    : {
        code: "server/fault",
        message: "This is our fault, not yours: something failed inside.",
        hint: "Please report it with what the server printed.",
      };
}
