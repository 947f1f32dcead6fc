import type { ErrorCode, PolewardError } from '../../error.js';
import type { Frame, FrameMetadata, Image, Sourced } from '../../frames/frame.js';
import type { Remedy } from '../../remedy.js';
import { type Detection, detectStars } from '../../stars/detectStars.js';
import type { DetectedStar } from '../../stars/star.js';
import type { GivenValues } from '../given/given.js';

/** What is kept of a frame once its pixels have been looked at. */
export interface FrameStars {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly firstRowBottom: boolean;
  readonly metadata: FrameMetadata;
  /** Seconds subtracted from its time because the person gave the clock as ahead; absent where nothing was. */
  readonly clockAheadSeconds?: Sourced<number>;
  /** The source of its time where that is not the frame itself; absent where it is. */
  readonly timeGiven?: TimeGiven;
  /** Where the picture is not the one the file was made for: why, and the effect. */
  readonly standIn?: string;
  /** Which picture of a file with several was taken. */
  readonly notes?: readonly string[];
  /** Number of rows at its end that seem not to be written yet; absent where it seems complete. */
  readonly unfinishedRows?: number;
  /** Brightest first, in pixels of the stored picture. */
  readonly stars: readonly DetectedStar[];
  readonly background: number;
  readonly noise: number;
  readonly fwhm: number;
}

/** That a frame's time was given separately. */
export interface TimeGiven {
  /** By the file's own time, else by the person. */
  readonly byFile: boolean;
  /** What the frame itself says, where that is another time; else null. */
  readonly own: Sourced<Date> | null;
}

/** A frame that can't be used, and why. Plain data: it may come from another thread. */
export interface FrameTrouble {
  readonly file: string;
  readonly code: ErrorCode;
  readonly message: string;
  readonly remedies?: readonly Remedy[];
  /** The message without the file's name, where it may be the same for other frames. */
  readonly shared?: string;
}

export type FrameResult = FrameStars | FrameTrouble;

/** Frames whose stars are being looked for elsewhere: on other threads, in a worker. */
export interface StarsComing {
  /**
   * Waits for all; the results in the order of the frames. `arrived` is called for each frame, in that order, as soon as it and those
   * before it are done.
   */
  each(arrived: (result: FrameResult) => void): Promise<FrameResult[]>;
}

/** Reports the progress of long work: "frames read", 2, 3. */
export type Progress = (what: string, done: number, of: number) => void;

/** Brightest stars kept of a frame. */
const MOST_STARS = 500;
/**
 * In large pictures half of them determine the axis better than air and catalogue allow, and where there are many bright stars the faint
 * ones are not needed.
 */
const LARGE = { pixels: 8e6, most: 250, threshold: 15, enough: 150 } as const;

/** The stars of a frame, in pixels of the stored picture, also where the frame is the mean of 2x2 of them. */
export function starsOfFrame(frame: Frame): FrameStars {
  const { stars, background, noise, fwhm } = starsOf(frame.image);
  return { ...aboutFrame(frame), stars: inStoredPixels(stars, frame), background, noise, fwhm };
}

/** What of a frame is kept beside its stars. */
export function aboutFrame(
  { file, image, firstRowBottom, metadata, standIn, notes, unfinished }: Frame,
): Omit<FrameStars, 'stars' | 'background' | 'noise' | 'fwhm'> {
  return {
    file, width: image.width, height: image.height, firstRowBottom, metadata, ...(standIn === null ? {} : { standIn }), notes,
    ...(unfinished ? { unfinishedRows: unfinished.rows } : {}),
  };
}

/** Positions found in a frame's picture, in pixels of the stored one. */
export function inStoredPixels<T extends { readonly x: number; readonly y: number }>(
  found: readonly T[], { pixelOffset }: Frame,
): readonly T[] {
  return pixelOffset === 0 ? found : found.map((place) => ({ ...place, x: place.x + pixelOffset, y: place.y + pixelOffset }));
}

/** An error a person can cause, as the trouble of its frame. */
export function troubleOf(file: string, { code, message, remedies }: PolewardError): FrameTrouble {
  return { file, code, message, ...(remedies.length > 0 ? { remedies } : {}) };
}

/** The frame with its time corrected for a clock that the person gave as ahead. */
export function clockCorrected<T extends FrameResult>(result: T, { clockAheadSeconds: ahead }: Pick<GivenValues, 'clockAheadSeconds'>): T {
  if (!ahead || ahead.value === 0 || !('stars' in result) || !result.metadata.midExposure) return result;
  const { value, from } = result.metadata.midExposure;
  const midExposure = {
    value: new Date(value.getTime() - ahead.value * 1000), from: `${from}, clock ${ahead.value} s ahead (${ahead.from})`,
  };
  return { ...result, metadata: { ...result.metadata, midExposure }, clockAheadSeconds: ahead };
}

function starsOf(image: Image): Detection {
  if (image.width * image.height < LARGE.pixels) return detectStars(image, { limit: MOST_STARS });
  const bright = detectStars(image, { limit: LARGE.most, threshold: LARGE.threshold });
  return bright.stars.length >= LARGE.enough ? bright : detectStars(image, { limit: LARGE.most });
}
