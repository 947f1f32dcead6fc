import type { FrameResult, FrameTrouble } from './frameStars.js';

/** Pictures given more than once, under one name or several: counted twice they would make the answer look more certain than it is. */
export function samePictures(results: readonly FrameResult[]): Map<FrameResult, FrameTrouble> {
  const first = new Map<string, string>();
  const found = new Map<FrameResult, FrameTrouble>();
  for (const result of results) {
    // Noise is never the same twice: where sky and stars agree to the last bit, the pictures are the same.
    if (!('stars' in result) || result.stars.length === 0) continue;
    const { file, width, height, background, noise, stars, metadata } = result;
    const mark = JSON.stringify([
      width, height, background, noise, stars.map(({ x, y, flux }) => [x, y, flux]), metadata.midExposure?.value,
    ]);
    const before = first.get(mark);
    if (before === undefined) first.set(mark, file);
    else found.set(
      result,
      {
        file, code: 'same-picture',
        message: `${file} ${before === file ? 'was given twice' : `is the same picture as ${before}`}. It counts once; give other frames, `
          + 'with the mount turned between them.',
      },
    );
  }
  return found;
}
