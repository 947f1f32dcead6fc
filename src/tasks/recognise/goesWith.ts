import { PolewardError } from '../../error.js';
import { apartWords, clockWords } from '../../frames/clockDoubts.js';
import { ARCSECOND } from '../../geometry/angle.js';
import type { Lens } from '../../identify/lens.js';
import type { AxisState } from '../../night/record/entry.js';
import type { KnownFrame } from './recognition.js';

/** Focal lengths that differ by more than this share are of two lenses: focusing and cold change one by less (common practice). */
const OTHER_LENS = 0.02;
/** Frames nearer to each other than this are of one night, unless it is a polar one. */
export const BETWEEN_NIGHTS_MS = 12 * 3_600_000;

/** Whether one lens can have made both: by scale and handedness. */
export function sameLens(one: Lens, other: Lens): boolean {
  return one.mirrored === other.mirrored && Math.abs(one.focalPixels / other.focalPixels - 1) < OTHER_LENS;
}

/** Whether two frames are of one camera, with one binning, and one night. */
export function goesWith(a: KnownFrame, b: KnownFrame): boolean {
  return a.frame.width === b.frame.width && a.frame.height === b.frame.height && sameLens(a.identification.lens, b.identification.lens)
    && Math.abs(a.sky.time.getTime() - b.sky.time.getTime()) < BETWEEN_NIGHTS_MS;
}

/**
 * A recheck stands on the camera of the measurement before.
 *
 * @throws PolewardError `size-differs`, `other-camera`
 */
export function requireSameCamera(base: AxisState, { frame, identification }: KnownFrame): void {
  const { file, width, height } = frame;
  if (width !== base.width || height !== base.height) {
    throw new PolewardError('size-differs',
      `${file} is ${width}x${height} pixels, the measurement's frames ${base.width}x${base.height}. Use the same camera and binning, or `
        + 'measure anew.');
  }
  if (!sameLens(base.lens, identification.lens)) {
    throw new PolewardError('other-camera',
      `${file} ${difference(identification.lens, base.lens, 'the measurement\'s frames')}: another camera or lens. Use the same one, or `
        + 'measure anew.');
  }
}

/**
 * So does it on the night: the mount may have been moved in between.
 *
 * @throws PolewardError `other-night`
 */
export function requireSameNight(base: AxisState, { frame, sky }: KnownFrame): void {
  const apart = sky.time.getTime() - Date.parse(base.utc);
  if (Math.abs(apart) < BETWEEN_NIGHTS_MS) return;
  throw new PolewardError('other-night',
    `${frame.file} was taken ${clockWords(sky.time.getTime())} UTC by its time, ${apartWords(apart)} ${apart < 0 ? 'before' : 'after'} the `
      + `measurement. Use frames of this night; if it is of this one, correct the camera's date, or begin a new session.`,
    { remedies: ['new-session'] });
}

/** How a lens differs from that of others, as words after a file's name. */
export function difference(lens: Lens, others: Lens, named: string): string {
  if (lens.mirrored !== others.mirrored) return `is mirrored against ${named}`;
  const scale = ({ focalPixels }: Lens): string => `${(1 / (focalPixels * ARCSECOND)).toPrecision(4)}″`;
  return `has ${scale(lens)} a pixel, ${named} ${scale(others)}`;
}
