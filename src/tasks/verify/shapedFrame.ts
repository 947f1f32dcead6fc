import type { Frame } from '../../frames/frame.js';
import { type FieldShape, type MomentsAt, fieldShape } from '../../run/fieldShape.js';
import { detectStars } from '../../stars/detectStars.js';
import { starShapes } from '../../stars/starShapes.js';
import type { GivenValues } from '../given/given.js';
import { type FrameStars, type FrameTrouble, aboutFrame, clockCorrected, inStoredPixels } from '../recognise/frameStars.js';
import { unzoned } from '../recognise/sharedTrouble.js';
import { setAside } from '../recognise/setAside.js';

/** One frame with the shapes of its stars. */
export interface ShapedFrame extends FrameStars {
  readonly shape: FieldShape;
  readonly moments: readonly MomentsAt[];
}

/** Frames of a run that can be used, and those left out. */
export interface SortedFrames {
  readonly shaped: readonly ShapedFrame[];
  readonly left: readonly FrameTrouble[];
}

const MOST_STARS = 500;
/** With fewer stars than this no rotation of the field is computed. */
const FEWEST_STARS = 3;

/** A frame's stars and their shapes, in pixels of the stored picture. */
export function shapedFrame(frame: Frame): ShapedFrame {
  const { stars, background, noise, fwhm } = detectStars(frame.image, { limit: MOST_STARS });
  const about = aboutFrame(frame);
  const moments = inStoredPixels(starShapes(frame.image, stars), frame);
  return {
    ...about, stars: inStoredPixels(stars, frame), background, noise, fwhm,
    moments, shape: fieldShape(moments, about.width, about.height),
  };
}

/** Leaves out frames that can't be used or do not belong with the others, and corrects the times of the rest. */
export function sortFrames(
  found: readonly (ShapedFrame | FrameTrouble)[], given: Pick<GivenValues, 'clockAheadSeconds'> & Partial<GivenValues>,
): SortedFrames {
  const read = found.filter((f): f is ShapedFrame => 'stars' in f).map((f) => clockCorrected(f, given));
  const aside = setAside(read);
  const troubles = new Map(read.flatMap((f) => {
    const trouble = aside.get(f) ?? unusable(f, given.longitudeDeg?.value ?? null);
    return trouble ? [[f, trouble] as const] : [];
  }));
  return {
    shaped: read.filter((f) => !troubles.has(f)),
    left: [...found.filter((f): f is FrameTrouble => !('stars' in f)), ...troubles.values()],
  };
}

function unusable({ file, metadata, stars }: ShapedFrame, longitudeDeg: number | null): FrameTrouble | null {
  if (metadata.unzonedClock) return unzoned({ file, metadata }, metadata.longitudeDeg?.value ?? longitudeDeg);
  if (!metadata.midExposure) {
    return {
      file, code: 'no-time',
      message: `${file} does not say when it was taken, and drift needs the time. Save frames with the time in their header, or give it.`,
      remedies: ['give-time'],
    };
  }
  if (stars.length < FEWEST_STARS) {
    return { file, code: 'no-stars', message: `${file} shows fewer than three stars. Check focus, lens cap and clouds, or expose longer.` };
  }
  return null;
}

/** When a frame that is used was taken, ms since 1970. */
export function timeOf({ metadata }: ShapedFrame): number {
  return metadata.midExposure!.value.getTime();
}
