import { PolewardError, type ErrorCode } from '../error.js';
import type { FrameMetadata } from '../frames/frame.js';
import { readFrame, type ReadFrameOptions } from '../frames/readFrame.js';
import { detectStars } from '../stars/detectStars.js';
import type { DetectedStar } from '../stars/star.js';

/** What is kept of a frame once its pixels have been looked at. */
export interface FrameStars {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly firstRowBottom: boolean;
  readonly metadata: FrameMetadata;
  /** Brightest first, in pixels of the stored picture. */
  readonly stars: readonly DetectedStar[];
  readonly background: number;
  readonly noise: number;
  readonly fwhm: number;
}

/** A frame that can't be used, and why. Plain data: it may come from another thread. */
export interface FrameTrouble {
  readonly file: string;
  readonly code: ErrorCode;
  readonly message: string;
}

export type FrameResult = FrameStars | FrameTrouble;

/** Brightest stars kept of a frame. In large pictures half of them fix the axis better than the air and the catalogue let it be known. */
const MOST_STARS = 500;
const MOST_STARS_LARGE = 250;
const LARGE_PIXELS = 8e6;

/** Reads one frame and lists its stars. A frame a person can put right comes back as trouble, not as an exception. */
export async function starsOfFrame(file: string, options: ReadFrameOptions): Promise<FrameResult> {
  try {
    const frame = await readFrame(file, options);
    const { stars, background, noise, fwhm } = detectStars(frame.image, {
      limit: frame.image.width * frame.image.height > LARGE_PIXELS ? MOST_STARS_LARGE : MOST_STARS,
    });
    const shift = frame.pixelOffset;
    return {
      file,
      width: frame.image.width,
      height: frame.image.height,
      firstRowBottom: frame.firstRowBottom,
      metadata: frame.metadata,
      stars: shift === 0 ? stars : stars.map((star) => ({ ...star, x: star.x + shift, y: star.y + shift })),
      background, noise, fwhm,
    };
  } catch (error) {
    if (error instanceof PolewardError) return { file, code: error.code, message: error.message };
    throw error;
  }
}
