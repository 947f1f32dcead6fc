import type { Rotation } from '../geometry/rotation.js';
import { atOnce } from '../numeric/steps.js';
import type { DetectedStar } from '../stars/star.js';
import { finishIdentification } from './finishIdentification.js';
import type { JudgedPose } from './judgePose.js';
import type { Lens } from './lens.js';
import { isAccepted, searchPoses, type SearchHints, type SearchMemory } from './searchPose.js';
import { makeSpots } from './spots.js';
import type { StarCap } from './starCap.js';

/** A detected star matched with a catalogue star. */
export interface IdentifiedStar {
  readonly detection: DetectedStar;
  /** Number in the catalogue. */
  readonly catalogue: number;
  /** Apparent direction in the frame of the pose (local frame), length 1. */
  readonly direction: readonly [number, number, number];
  /** One-sigma error of the catalogue place, radians in each coordinate; the same error in every frame of the night. */
  readonly catalogueSigma: number;
  readonly magnitude: number;
}

/** One frame recognised. */
export interface Identification {
  /** Camera to local frame. */
  readonly pose: Rotation;
  readonly lens: Lens;
  readonly stars: readonly IdentifiedStar[];
  /** Root mean square residual in each coordinate, pixels. */
  readonly residualPixels: number;
  /** Natural logarithm of the odds against a chance match. */
  readonly logOdds: number;
}

/**
 * Recognises the stars of one frame near the pole of `cap`. No hint is needed. Null if no pose reaches the odds
 * against chance of `ACCEPTED_ODDS`.
 *
 * @param detections brightest first
 * @param memory from an earlier frame of the same set, or a new Map
 */
export function identifyFrame(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap,
  hints: SearchHints = {}, memory: SearchMemory = new Map(),
): Identification | null {
  return atOnce(identifyFrameSteps(detections, width, height, cap, hints, memory));
}

/** The same in steps: it yields every few milliseconds, so that whoever runs it may do something else, or leave it. */
export function* identifyFrameSteps(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, hints: SearchHints, memory: SearchMemory,
): Generator<null, Identification | null> {
  for (const found of searchPoses(makeSpots(detections, width, height), cap, hints, memory)) {
    if (found && isAccepted(found)) return finishedIdentification(detections, width, height, cap, found);
    yield null;
  }
  return null;
}

/** All detections matched with all stars of the cap, given an accepted pose; null if too few pairs are left. */
export function finishedIdentification(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, found: JudgedPose,
): Identification | null {
  const finished = finishIdentification(detections, width, height, cap, found.pose, found.lens);
  if (!finished) return null;
  return {
    pose: finished.pose, lens: finished.lens, logOdds: found.logOdds, residualPixels: finished.rms,
    stars: Array.from(finished.spots, (spot, n): IdentifiedStar => {
      const star = finished.stars[n]!;
      return {
        detection: detections[spot]!,
        catalogue: cap.catalogue[star]!,
        direction: [cap.directions[3 * star]!, cap.directions[3 * star + 1]!, cap.directions[3 * star + 2]!],
        catalogueSigma: cap.sigma(star),
        magnitude: cap.magnitudes[star]!,
      };
    }),
  };
}
