/** Levenshtein's distance of two words: letters to add, leave out or change. Infinite for words of more than 60 letters. */
export function editDistance(a: string, b: string): number {
  if (a.length > 60 || b.length > 60) return Infinity;
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(next[j - 1]! + 1, row[j]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1)));
    }
    row = next;
  }
  return row[b.length]!;
}
