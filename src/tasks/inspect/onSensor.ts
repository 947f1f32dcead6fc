import type { FrameMetadata, Sourced } from '../../frames/frame.js';
import { DEGREE } from '../../geometry/angle.js';
import { apply, inverse } from '../../geometry/rotation.js';
import { toPixel } from '../../identify/lens.js';
import { rounded } from '../measure/measurementJson.js';
import type { KnownFrame } from '../recognise/recognition.js';

/** Width and height of a recognised frame's field, degrees. */
export function field({ frame, identification }: KnownFrame): [number, number] {
  const across = (pixels: number): number => (2 * Math.atan(pixels / 2 / identification.lens.focalPixels)) / DEGREE;
  return [across(frame.width), across(frame.height)];
}

/** Where the pole appears, pixels; null behind the camera. */
export function polePixel({ identification, sky, hemisphere }: KnownFrame): { x: number; y: number } | null {
  const pixel = toPixel(identification.lens, apply(inverse(identification.pose), sky.refractedPole(hemisphere)));
  return pixel && { x: rounded(pixel.x, 2), y: rounded(pixel.y, 2) };
}

/** Each thing the file says with its origin. */
export function metadataJson(metadata: FrameMetadata): Record<string, Sourced<unknown>> {
  const entries = Object.entries(metadata).filter(
    ([key, value]) => value !== null && typeof value === 'object' && 'from' in value && key !== 'pointing',
  );
  const said = Object.fromEntries(entries) as Record<string, Sourced<unknown>>;
  const { unzonedClock: clock } = metadata;
  return clock ? { ...said, unzonedClock: { value: new Date(clock.value).toISOString().replace('Z', ''), from: clock.from } } : said;
}
