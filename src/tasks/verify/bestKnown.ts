import { angleWords, plusMinus } from '../../geometry/angleWords.js';

/**
 * The combination of both errors that is determined best: up · altitude + east · azimuth · cos(altitude of the axis) = value; radians on
 * the sky.
 */
export interface Combination {
  readonly up: number;
  readonly east: number;
  readonly value: number;
  readonly sigma: number;
}

/** Signs known to fewer sigmas than this are not given. */
export const KNOWN = 2;

/**
 * A combination as an instruction for the knob that has most of it: "Raise the axis by 1.9′ ± 0.2′ if the azimuth is right, 0.4′ more for
 * each arcminute that it is too far east. These frames can't separate the two."
 *
 * @param cosine of the axis' altitude
 */
export function bestKnownWords({ up, east, value, sigma }: Combination, cosine: number): string {
  const altitudeFirst = Math.abs(up) >= Math.abs(east * cosine);
  const [mine, others] = altitudeFirst ? [up, east * cosine] : [east * cosine, up];
  const error = value / mine, s = sigma / Math.abs(mine), share = others / mine;
  const [knob, other, side] = altitudeFirst ? ['altitude', 'azimuth', 'too far east'] : ['azimuth', 'altitude', 'too high'];
  const none = Math.abs(share) < 0.02;
  if (Math.abs(error) < KNOWN * s) {
    const most = `the ${knob} is off by at most ${angleWords(Math.abs(error) + KNOWN * s, s)}`;
    return none ? `${most[0]!.toUpperCase()}${most.slice(1)}; these frames show nothing of the ${other}.`
      : `If the ${other} is right, ${most}. These frames can't separate the two.`;
  }
  const order = altitudeFirst ? (error > 0 ? 'Lower the axis' : 'Raise the axis') : `Move the axis ${error > 0 ? 'west' : 'east'}`;
  const first = `${order} by ${angleWords(Math.abs(error), s)} ${plusMinus(s)}`;
  if (none) return `${first}; these frames show nothing of the ${other}.`;
  // The value already contains the part of an azimuth error: the knob's own error is smaller by that.
  const more = error * share < 0 ? 'more' : 'less';
  return `${first} if the ${other} is right, ${Math.abs(share).toFixed(2)}′ ${more} for each arcminute that it is ${side}. `
    + `These frames can't separate the two.`;
}
