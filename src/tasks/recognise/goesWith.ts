import type { ErrorCode } from '../../error.js';
import { apartWords, clockWords } from '../../frames/clockDoubts.js';
import { ARCSECOND } from '../../geometry/angle.js';
import type { Lens } from '../../identify/lens.js';
import type { Night } from '../../night/night.js';
import type { FrameTrouble } from './frameStars.js';
import type { KnownFrame } from './recognition.js';

/** Focal lengths that differ by more than this share are of two lenses: focusing and temperature change one by less (common practice). */
const OTHER_LENS = 0.02;
/** Frames closer in time than this are of one night, except in a polar night. */
export const BETWEEN_NIGHTS_MS = 12 * 3_600_000;

/** Whether one lens can have made both: by scale and parity. */
export function sameLens(one: Lens, other: Lens): boolean {
  return one.mirrored === other.mirrored && Math.abs(one.focalPixels / other.focalPixels - 1) < OTHER_LENS;
}

/** Whether two frames are of one camera, with one binning, and one night. */
export function goesWith(a: KnownFrame, b: KnownFrame): boolean {
  return a.frame.width === b.frame.width && a.frame.height === b.frame.height && sameLens(a.identification.lens, b.identification.lens)
    && Math.abs(a.sky.time.getTime() - b.sky.time.getTime()) < BETWEEN_NIGHTS_MS;
}

/** Why a frame does not belong to a night: another camera, binning or night. Null where it does, or the night is empty. */
export function whyNotWith(night: Night, { frame, sky, identification }: KnownFrame): FrameTrouble | null {
  const { file, width, height } = frame;
  const base = night.looks.at(-1) ?? night.setting.anchor;
  if (!base) return null;
  if (width !== base.width || height !== base.height) {
    return trouble(file, 'size-differs', `${file} is ${width}x${height} pixels, the frames before it ${base.width}x${base.height}. `
      + `Use the same camera and binning, or begin a new night.`);
  }
  if (!sameLens(base.lens, identification.lens)) {
    return trouble(file, 'other-camera', `${file} ${difference(identification.lens, base.lens, 'the frames before it')}: another `
      + `camera or lens. Use the same one, or begin a new night.`);
  }
  const apart = sky.time.getTime() - Date.parse(base.utc);
  const remembered = night.looks.length === 0 && night.setting.anchor?.from === 'earlier-night';
  if (Math.abs(apart) < BETWEEN_NIGHTS_MS || remembered) return null;
  return trouble(file, 'other-night',
    `${file} was taken ${clockWords(sky.time.getTime())} UTC by its time, ${apartWords(apart)} ${apart < 0 ? 'before' : 'after'} the `
      + `frames of this night. If it is of this night, correct the camera's date; else begin a new night.`);
}

function trouble(file: string, code: ErrorCode, message: string): FrameTrouble {
  return { file, code, message, remedies: ['new-session'] };
}

/** How a lens differs from that of others, as words after a file's name. */
export function difference(lens: Lens, others: Lens, named: string): string {
  if (lens.mirrored !== others.mirrored) return `is mirrored against ${named}`;
  const scale = ({ focalPixels }: Lens): string => `${(1 / (focalPixels * ARCSECOND)).toPrecision(4)}″`;
  return `has ${scale(lens)} a pixel, ${named} ${scale(others)}`;
}
