/**
 * The name a person most likely meant, or undefined when none is close.
 *
 * Compared without case, spaces and punctuation, by edit distance with neighbouring letters swapped as one edit
 * (Damerau 1964); close means at most a third of the letters differ.
 */
export function nearestName(wrong: string, names: Iterable<string>): string | undefined {
  const bare = (text: string): string => text.toLowerCase().replace(/[^a-z0-9]/g, "");
  let best: string | undefined;
  let bestDistance = Infinity;
  for (const name of names) {
    const distance = editDistance(bare(wrong), bare(name));
    if (distance < bestDistance) {
      bestDistance = distance;
      best = name;
    }
  }
  return best !== undefined && bestDistance <= Math.max(1, best.length / 3) ? best : undefined;
}

function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let previous = Array.from({length: b.length + 1}, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const current = [i];
    for (let j = 1; j <= b.length; j++) {
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      current[j] = Math.min(
        (previous[j] as number) + 1,
        (current[j - 1] as number) + 1,
        (previous[j - 1] as number) + (a[i - 1] === b[j - 1] ? 0 : 1),
        swapped ? (before[j - 2] as number) + 1 : Infinity,
      );
    }
    before = previous;
    previous = current;
  }
  return previous[b.length] as number;
}
