/** The shortest of several runs, seconds: what the work takes when nothing else wants the machine. */
export async function shortest<T>(runs: number, work: () => T | Promise<T>): Promise<{seconds: number; value: T}> {
  let seconds = Infinity;
  let value: T | undefined;
  for (let run = 0; run < runs; run++) {
    const start = performance.now();
    value = await work();
    seconds = Math.min(seconds, (performance.now() - start) / 1000);
    notePeak();
  }
  return {seconds, value: value as T};
}

let peak = 0;

/** Keeps the most resident memory seen. */
export function notePeak(): void {
  peak = Math.max(peak, process.memoryUsage().rss);
}

export const peakMb = (): number => peak / 2 ** 20;
/** As the system kept it for the whole process, also within a stage. */
export const systemPeakMb = (): number => process.resourceUsage().maxRSS / 1024;
