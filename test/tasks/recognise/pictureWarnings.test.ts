import { describe, expect, test } from 'vitest';
import { pictureWarnings } from '../../../src/tasks/recognise/pictureWarnings.js';
import type { FrameStars } from '../../../src/tasks/recognise/frameStars.js';

const frame = (file: string, more: Partial<FrameStars> = {}): FrameStars => ({ file, notes: [], ...more } as FrameStars);

describe('what is said of the pictures taken from files', () => {
  test('is nothing where each file holds the one it was made for', () => {
    expect(pictureWarnings([frame('a.fits'), frame('b.fits')])).toEqual([]);
  });

  test('names the preview used for a raw frame, once for all', () => {
    const standIn = 'the preview was used.';
    expect(pictureWarnings([frame('1.raw', { standIn }), frame('2.raw', { standIn })])).toEqual([
      { code: 'preview-used', message: '1.raw, 2.raw: the preview was used.' },
    ]);
  });

  test('names which of several pictures was used, three files at most', () => {
    const notes = ['It holds 2 pictures; unit 1, 8 × 8, was used: the largest, of equal ones the first.'];
    const [warning] = pictureWarnings(['a', 'b', 'c', 'd', 'e'].map((name) => frame(`${name}.fits`, { notes })));
    expect(warning).toEqual({
      code: 'one-of-several', message: `a.fits, b.fits, c.fits and 2 more: ${notes[0]} If another is meant, save it as a file of its own.`,
    });
  });
});
