import { InvalidArgumentError } from 'commander';

/** A UTC date and time, as options give it: 2026-11-25T20:00:00, seconds and a Z optional. */
export function utcTime(text: string): Date {
  // Date.parse takes a time without zone for local: never here.
  const match = /^(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d(?:\.\d{1,3})?)?)Z?$/.exec(text.trim());
  const time = new Date(match ? `${match[1]}T${match[2]}Z` : NaN);
  // A day that does not exist (30 February) is not a date.
  if (match && Number.isFinite(time.getTime()) && time.toISOString().startsWith(match[1]!)) return time;
  throw new InvalidArgumentError(`The time "${text}" is no UTC date and time. Write it like 2026-11-25T20:00:00.`);
}
