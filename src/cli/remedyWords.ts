import { type Remedy, type RemedyKey, withRemedies } from '../remedy.js';

/** What the command line calls each remedy: the option to add, or the command to run. */
const OPTIONS: Readonly<Record<RemedyKey, string>> = {
  'give-site': '--latitude, --longitude',
  'choose-site': '--site NAME',
  'give-latitude': '--latitude',
  'give-longitude': '--longitude',
  'give-air': '--pressure, --temperature',
  'give-zone': '--zone Europe/Madrid, --utc-offset ±HH:MM',
  'give-time': '--time, --file-times',
  'say-time': '--time UTC,…',
  'clock-ahead': '--clock-ahead ±HH:MM',
  'give-focal-length': '--focal-length',
  'give-pixel-size': '--pixel-size',
  'give-sensor': '--sensor',
  'give-aperture': '--aperture',
  'give-exposure': '--exposure',
  'give-payload': '--payload',
  'give-capacity': '--capacity',
  'make-rig': 'poleward rig --init',
  'rig-schema': 'poleward rig --schema says what is allowed',
  'say-where': '--near RA,Dec',
  'give-axis-error': '--altitude-error, --azimuth-error',
  'give-declination': '--declination',
  'give-hour-angle': '--hour-angle',
  'give-right-ascension': '--right-ascension',
  'give-start': '--start',
  'give-position-angle': '--position-angle',
  'give-mirrored': '--mirrored',
  'give-drive-off': '--drive-off',
  'say-unguided': '--unguided',
  'new-session': '--new-session',
  'name-session': '--session FILE',
  'no-session': '--no-session',
  overwrite: '--overwrite',
  'other-port': '--panel-port',
  'without-panel': 'without --panel',
};

/** A remedy as an option of the command line. */
export function remedyWords(remedy: Remedy): string {
  if (typeof remedy === 'string') return OPTIONS[remedy];
  return `--turned ${remedy.knob}=${remedy.turns < 0 ? '-' : '+'}${Math.abs(remedy.turns).toFixed(2)}`;
}

/** An error, warning or notice as the command line says it. */
export function worded({ message, remedies }: { readonly message: string; readonly remedies?: readonly Remedy[] }): string {
  return withRemedies(message, remedies, remedyWords);
}
