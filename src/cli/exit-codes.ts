/** What a shell sees. The same for every command. */
export const EXIT = {
  ok: 0,
  /** A bug of ours: a stack is shown. */
  bug: 1,
  /** The command line itself is wrong. */
  usage: 2,
  /** The input or the request is wrong; the message says what to do. */
  input: 3,
  cancelled: 130,
} as const;
