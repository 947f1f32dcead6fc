import { fileName } from '../../fileName.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import { angleWords } from '../../geometry/angleWords.js';
import { axisAndAngle, compose, inverse } from '../../geometry/rotation.js';
import type { Night } from '../../night/night.js';
import type { FrameTrouble } from './frameStars.js';
import type { KnownFrame } from './recognition.js';

/** Mid-exposures closer than this are one moment: many clocks show whole seconds only. */
const ONE_MOMENT_MS = 1000;
/** No mount turns this far between two pictures of one moment and still shows stars: they would be streaks. */
const NO_MOUNT = 2 * DEGREE;
/** Far more than the error of a pose; the drive and the sky move less in an exposure. */
const BEYOND_ERROR = 1 * ARCMINUTE;

const WHAT_TO_DO = 'One camera can\'t take both: if the time is wrong, correct it; if they are of two nights or practice nights, begin a '
  + 'new night.';

/**
 * Why a frame can't be of the camera and night of a look that the night has: both at one moment, with the camera in two positions. So it is
 * where the frames of another night, or another practice night, have the same times. Null where there is no such look, and where the
 * person or the file system gave the time, which may be the same for several frames.
 */
export function sameMoment({ looks }: Night, { frame, sky, identification }: KnownFrame): FrameTrouble | null {
  if (frame.timeGiven) return null;
  const at = sky.time.getTime();
  const exposureMs = (frame.metadata.exposureSeconds?.value ?? 0) * 1000;
  for (const look of looks) {
    const apart = Math.abs(Date.parse(look.utc) - at);
    if (apart >= ONE_MOMENT_MS) continue;
    const { angle } = axisAndAngle(compose(identification.pose, inverse(look.pose)));
    // The shutter was open for this frame in the middle of the other, even if both times are rounded to seconds.
    const overlap = apart + ONE_MOMENT_MS <= exposureMs / 2;
    if (angle <= (overlap ? BEYOND_ERROR : NO_MOUNT)) continue;
    const { file } = frame;
    const other = fileName(look.file) === fileName(file) ? 'another frame of that name in this night' : fileName(look.file);
    return {
      file, code: 'same-moment', remedies: ['new-session'],
      message: `${file} and ${other} were both taken at ${look.utc.slice(11, 19)} UTC by their times, yet the camera is turned by `
        + `${angleWords(angle, ARCMINUTE / 10)} between them. ${WHAT_TO_DO}`,
      shared: `this night has other frames of the same moments, with the camera in another position. ${WHAT_TO_DO}`,
    };
  }
  return null;
}

/** Whether the clock of all frames stands still: then their times say nothing about which belong together. */
export function clockStands(frames: readonly KnownFrame[]): boolean {
  const times = frames.map(({ sky }) => sky.time.getTime());
  return frames.length > 1 && Math.max(...times) - Math.min(...times) < ONE_MOMENT_MS;
}
