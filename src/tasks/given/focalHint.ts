import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import type { GivenValues } from './given.js';

/** Focal length in pixels by person, rig file or a frame's header, where both lengths are known. */
export function focalHint(
  given: Pick<GivenValues, 'focalLengthMillimetres' | 'pixelSizeMicrometres'>, { metadata }: { readonly metadata: FrameMetadata },
): Sourced<number> | null {
  const focal = given.focalLengthMillimetres ?? metadata.focalLengthMillimetres;
  const pixel = given.pixelSizeMicrometres ?? metadata.pixelSizeMicrometres;
  if (!focal || !pixel) return null;
  const from = [given.focalLengthMillimetres, given.pixelSizeMicrometres].map((value) => value?.from ?? 'the frame header');
  return { value: (focal.value * 1000) / pixel.value, from: [...new Set(from)].join(' and ') };
}
