import { DEGREE } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';
import { fromSpherical, toSpherical } from '../geometry/vector.js';
import type { Identification, IdentifiedStar } from '../identify/identifyFrame.js';
import type { Lens } from '../identify/lens.js';
import type { LocalSky } from '../sky/localSky.js';
import type { Said } from './poseLook.js';

/**
 * One recognised frame, as a night keeps it: all that the estimate needs, so that a night can be understood again from its looks alone.
 * Plain data; the numbers of its stars are rounded when it is made, so that it is the same after it was written and read.
 */
export interface Look {
  /** The frame's file, as the person named it. */
  readonly file: string;
  /** Mid-exposure, ISO UTC with milliseconds. */
  readonly utc: string;
  /** Pixels of the stored picture. */
  readonly width: number;
  readonly height: number;
  /** Absent where the file does not say. */
  readonly exposureSeconds?: number;
  /** As the frame alone was recognised: camera to local, and lens. */
  readonly pose: Rotation;
  readonly lens: Lens;
  readonly stars: LookStars;
  /** What the person said was done since the look before. */
  readonly said?: Said;
}

/** What a look keeps, seconds: a file that says more is wrong. */
export const LONGEST_EXPOSURE = 86_400;

/** The recognised stars, a column each, all of the same length. */
export interface LookStars {
  /** Numbers in the star catalogue: the same star has the same in all looks of a night. */
  readonly number: readonly number[];
  /** ICRS at J2000, degrees. */
  readonly raDeg: readonly number[];
  readonly decDeg: readonly number[];
  /** One-sigma error of the catalogue's place, arcseconds in each coordinate. */
  readonly catalogueArcsec: readonly number[];
  /** Pixels, and one-sigma error of each. */
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly sigma: readonly number[];
  /** 1 where the star has a neighbour too close to separate. */
  readonly blended: readonly (0 | 1)[];
}

/** What a look keeps of a recognised frame. */
export interface RecognisedFrame {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly exposureSeconds?: number;
  readonly sky: LocalSky;
  readonly identification: Identification;
}

/** Makes a look of a recognised frame. */
export function lookOf({ file, width, height, exposureSeconds, sky, identification }: RecognisedFrame, said?: Said): Look {
  const { pose, lens, stars } = identification;
  const places = stars.map((star) => toSpherical(sky.fromLocal(star.direction)));
  return {
    file, utc: sky.time.toISOString(), width, height, ...(exposureSeconds === undefined ? {} : { exposureSeconds }), pose, lens,
    stars: {
      number: stars.map((s) => s.catalogue),
      raDeg: places.map(({ longitude }) => rounded(((longitude / DEGREE) + 360) % 360, 8)),
      decDeg: places.map(({ latitude }) => rounded(latitude / DEGREE, 8)),
      catalogueArcsec: stars.map((s) => rounded(s.catalogueSigma / DEGREE * 3600, 4)),
      x: stars.map((s) => rounded(s.detection.x, 4)),
      y: stars.map((s) => rounded(s.detection.y, 4)),
      sigma: stars.map((s) => Math.max(1e-4, rounded(s.detection.sigma, 4))),
      blended: stars.map((s) => (s.detection.blended ? 1 : 0)),
    },
    ...(said ? { said } : {}),
  };
}

/** The look's stars at their places in the sky at its time. */
export function starsOfLook({ stars }: Look, sky: LocalSky): IdentifiedStar[] {
  return stars.number.map((catalogue, i) => ({
    catalogue,
    direction: sky.toLocal(fromSpherical(stars.raDeg[i]! * DEGREE, stars.decDeg[i]! * DEGREE)),
    catalogueSigma: stars.catalogueArcsec[i]! * DEGREE / 3600,
    magnitude: NaN,
    detection: {
      x: stars.x[i]!, y: stars.y[i]!, sigma: stars.sigma[i]!, flux: NaN, signalToNoise: NaN, fwhm: NaN, elongation: NaN,
      saturated: false, blended: stars.blended[i] === 1,
    },
  }));
}

/** Whether two looks are of one exposure: the same time and the same stars in the same places. */
export function isSameLook(a: Look, b: Look): boolean {
  if (a.utc !== b.utc || a.width !== b.width || a.height !== b.height) return false;
  const places = new Map(a.stars.number.map((number, i) => [number, i]));
  let [common, near] = [0, 0];
  b.stars.number.forEach((number, k) => {
    const i = places.get(number);
    if (i === undefined) return;
    common++;
    if (Math.hypot(a.stars.x[i]! - b.stars.x[k]!, a.stars.y[i]! - b.stars.y[k]!) < SAME_PLACE) near++;
  });
  return common > 0 && near >= common / 2;
}

/** A copy saved in another format moves no star by more than this, pixels. */
const SAME_PLACE = 0.5;

function rounded(value: number, digits: number): number {
  const factor = 10 ** digits;
  return Math.round(value * factor) / factor;
}
