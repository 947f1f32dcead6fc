import { PolewardError, type ErrorCode } from '../error.js';
import type { FrameMetadata, Image } from '../frames/frame.js';
import { readFrame, type ReadFrameOptions } from '../node/readFrame.js';
import { type Detection, detectStars } from '../stars/detectStars.js';
import type { DetectedStar } from '../stars/star.js';

/** What is kept of a frame once its pixels have been looked at. */
export interface FrameStars {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly firstRowBottom: boolean;
  readonly metadata: FrameMetadata;
  /** Where the picture is not the one the file was made for: why, and what it costs. */
  readonly standIn?: string;
  /** Which picture of a file with several was taken. */
  readonly notes?: readonly string[];
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

/** Brightest stars kept of a frame. */
const MOST_STARS = 500;
/**
 * In large pictures half of them fix the axis better than the air and the catalogue let it be known, and where bright ones
 * abound the faint ones need not be looked at.
 */
const LARGE = { pixels: 8e6, most: 250, threshold: 15, enough: 150 } as const;

/** Reads one frame and lists its stars. A frame a person can put right comes back as trouble, not as an exception. */
export async function starsOfFrame(file: string, options: ReadFrameOptions): Promise<FrameResult> {
  try {
    const frame = await readFrame(file, options);
    const { stars, background, noise, fwhm } = starsOf(frame.image);
    const shift = frame.pixelOffset;
    return {
      file,
      width: frame.image.width,
      height: frame.image.height,
      firstRowBottom: frame.firstRowBottom,
      metadata: frame.metadata,
      ...(frame.standIn === null ? {} : { standIn: frame.standIn }),
      notes: frame.notes,
      stars: shift === 0 ? stars : stars.map((star) => ({ ...star, x: star.x + shift, y: star.y + shift })),
      background, noise, fwhm,
    };
  } catch (error) {
    if (error instanceof PolewardError) return { file, code: error.code, message: error.message };
    throw error;
  }
}

function starsOf(image: Image): Detection {
  if (image.width * image.height < LARGE.pixels) return detectStars(image, { limit: MOST_STARS });
  const bright = detectStars(image, { limit: LARGE.most, threshold: LARGE.threshold });
  return bright.stars.length >= LARGE.enough ? bright : detectStars(image, { limit: LARGE.most });
}
