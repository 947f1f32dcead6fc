import type { Remedy, RemedyKey } from '../remedy.js';

const [PLACE, TIME, CAMERA, RIG, PLAN] = ['Setup, place', 'Setup, time', 'Setup, camera', 'Setup, rig', 'Plan'];

/** Where on the page each remedy is; empty where the message says enough. */
const PLACES: Readonly<Record<RemedyKey, string>> = {
  'give-site': PLACE, 'give-latitude': PLACE, 'give-longitude': PLACE, 'give-air': PLACE, 'choose-site': PLACE, 'say-where': CAMERA,
  'give-zone': TIME, 'give-time': TIME, 'say-time': TIME, 'clock-ahead': TIME,
  'give-focal-length': CAMERA, 'give-pixel-size': CAMERA, 'give-sensor': RIG, 'give-aperture': RIG, 'give-exposure': PLAN,
  'give-payload': RIG, 'give-capacity': RIG, 'make-rig': RIG, 'rig-schema': '',
  'give-axis-error': PLAN, 'give-declination': PLAN, 'give-hour-angle': PLAN, 'give-right-ascension': PLAN, 'give-start': PLAN,
  'give-position-angle': '', 'give-mirrored': '', 'give-drive-off': '', 'say-unguided': PLAN,
  'new-session': 'Log, new night', 'name-session': '', 'no-session': '', overwrite: '', 'other-port': '', 'without-panel': '',
};

/** A remedy as the page names it. */
export function remedyWords(remedy: Remedy): string {
  if (typeof remedy === 'string') return PLACES[remedy];
  return `tap the ${remedy.knob} dial: ${Math.abs(remedy.turns).toFixed(2)} ${remedy.turns < 0 ? 'counter-clockwise' : 'clockwise'}`;
}
