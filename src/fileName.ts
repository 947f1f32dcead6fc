/** The last part of a path, on whatever system it was written. */
export function fileName(path: string): string {
  return path.replace(/^.*[/\\](?=[^/\\])/s, '');
}

/**
 * Order of file names as people count them: frame-2 before frame-10. For `sort`. The platform's own collation does the same, and takes
 * a tenth of a small measurement's time to load.
 */
export function byName(a: string, b: string): number {
  const [as, bs] = [parts(a), parts(b)];
  for (let i = 0; i < Math.min(as.length, bs.length); i++) {
    const [p, q] = [as[i]!, bs[i]!];
    const numbers = /^\d/.test(p) && /^\d/.test(q);
    const difference = numbers ? Number(p) - Number(q) : p === q ? 0 : p < q ? -1 : 1;
    if (difference !== 0) return difference;
  }
  return as.length - bs.length;
}

/** Runs of digits and what stands between them, without regard to case. */
function parts(name: string): string[] {
  return name.toLowerCase().match(/\d+|\D+/g) ?? [];
}
