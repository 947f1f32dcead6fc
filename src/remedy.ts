/**
 * What a person can do about a trouble, by a name that no front owns: the command line adds its option to the words, a page its
 * button or field. `words` puts them into a sentence.
 */
export type Remedy = RemedyKey | SayTurned;

/** What was turned is to be said. Turns are + = clockwise. */
export interface SayTurned {
  readonly key: 'say-turned';
  readonly knob: 'azimuth' | 'altitude';
  readonly turns: number;
}

export type RemedyKey =
  // Site, air, clock
  | 'give-site' | 'choose-site' | 'give-latitude' | 'give-longitude' | 'give-air' | 'give-zone' | 'give-time' | 'say-time' | 'clock-ahead'
  // Optics and camera, and where it looks
  | 'say-where' | 'give-focal-length' | 'give-pixel-size' | 'give-sensor' | 'give-aperture' | 'give-exposure'
  // Mount and rig file
  | 'give-payload' | 'give-capacity' | 'make-rig' | 'rig-schema'
  // A planned or tracked run
  | 'give-axis-error' | 'give-declination' | 'give-hour-angle' | 'give-right-ascension' | 'give-start'
  | 'give-position-angle' | 'give-mirrored' | 'give-drive-off' | 'say-unguided'
  // The record of the night
  | 'new-session' | 'name-session' | 'no-session'
  // Files and the panel
  | 'overwrite' | 'other-port' | 'without-panel';

/** How a front names a remedy: "--utc-offset", or nothing where it shows a button instead. */
export type RemedyWords = (remedy: Remedy) => string;

/**
 * A message with what this front calls its remedies, in brackets at the end of the first line: "Give the zone (--utc-offset)."
 * Without remedies, or where the front has no words for them, the message as it is.
 */
export function withRemedies(message: string, remedies: readonly Remedy[] | undefined, words: RemedyWords): string {
  const named = [...new Set((remedies ?? []).map(words))].filter((text) => text !== '');
  if (named.length === 0) return message;
  const end = message.indexOf('\n');
  const first = end < 0 ? message : message.slice(0, end);
  const stop = /[.:]$/.exec(first)?.[0] ?? '';
  return `${first.slice(0, first.length - stop.length)} (${named.join(', ')})${stop}${end < 0 ? '' : message.slice(end)}`;
}

/** Words for a person, with what they can do about it. */
export interface Notice {
  readonly message: string;
  readonly remedies?: readonly Remedy[];
}
