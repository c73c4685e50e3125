/** One piece of work after another, whatever becomes of those before. */
export function queue(): <T>(work: () => Promise<T>) => Promise<T> {
  let before: Promise<unknown> = Promise.resolve();
  return (work) => {
    const turn = before.then(work);
    before = turn.catch(() => undefined);
    return turn;
  };
}
