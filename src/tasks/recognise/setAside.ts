import { otherNights } from './otherNights.js';
import { samePictures } from './samePictures.js';
import type { FrameResult, FrameTrouble } from './frameStars.js';

/**
 * Frames that do not belong with the others, by size, stars and times alone, before any star is recognised: of another camera or binning
 * than most, the same picture again, of another night.
 */
export function setAside(results: readonly FrameResult[]): Map<FrameResult, FrameTrouble> {
  const found = new Map<FrameResult, FrameTrouble>(otherSizes(results));
  const add = (some: ReadonlyMap<FrameResult, FrameTrouble>): void => some.forEach((trouble, result) => found.set(result, trouble));
  const left = (): FrameResult[] => results.filter((r) => !found.has(r));
  add(samePictures(left()));
  add(otherNights(left()));
  return found;
}

function otherSizes(results: readonly FrameResult[]): [FrameResult, FrameTrouble][] {
  const size = commonSize(results);
  return results.flatMap((result): [FrameResult, FrameTrouble][] => {
    if (!size || !('stars' in result) || (result.width === size.width && result.height === size.height)) return [];
    const { file } = result;
    return [
      [
        result,
        {
          file, code: 'size-differs',
          message: `${file} is ${result.width}x${result.height} pixels, the others ${size.width}x${size.height}. Use frames of one camera `
            + 'with one binning.',
        },
      ],
    ];
  });
}

/** The size of most frames (of two that tie, the first); null if none was read. */
function commonSize(results: readonly FrameResult[]): { width: number; height: number } | null {
  const counts = new Map<string, { width: number; height: number; count: number }>();
  for (const r of results) {
    if (!('stars' in r)) continue;
    const key = `${r.width}x${r.height}`;
    const entry = counts.get(key) ?? { width: r.width, height: r.height, count: 0 };
    entry.count++;
    counts.set(key, entry);
  }
  let best: { width: number; height: number; count: number } | null = null;
  for (const entry of counts.values()) if (!best || entry.count > best.count) best = entry;
  return best;
}
