/** The last part of a path, on whatever system it was written. */
export function fileName(path: string): string {
  return path.replace(/^.*[/\\](?=[^/\\])/s, '');
}
