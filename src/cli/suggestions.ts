import { editDistance } from '../knobs/editDistance.js';

/** Two words with no more differing letters than this are taken as one, misspelt. */
const MOST_LETTERS = 2;

/** An error of commander's, with a suggestion only where that is the same word misspelt or cut short: `--start` is not `--target`. */
export function withoutFarSuggestion(text: string): string {
  const match = /^(error: unknown (?:option|command) '([^']+)')\n\(Did you mean (?:one of )?(.+)\?\)/.exec(text);
  if (!match) return text;
  const [, error, typed, names] = match as unknown as [string, string, string, string];
  const near = names.split(', ').filter((name) => name.startsWith(typed) || editDistance(typed, name) <= MOST_LETTERS);
  return near.length === 0 ? text.replace(match[0], error) : text;
}
