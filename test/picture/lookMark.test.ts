import { expect, it } from 'vitest';
import { isLookAt, lookMark, lookMarkIn } from '../../src/picture/lookMark.js';

const utc = '2026-11-25T20:00:02.000Z';

it('a look\'s mark is found again in a picture\'s text, and names its frame', () => {
  for (const file of ['/night/frame 1.fits', 'C:\\night\\frame 1.fits', 'Łódź "1" & <2>.fits']) {
    const mark = lookMark({ utc, file });
    expect(mark).toMatch(/^[ -~]+$/);
    expect(lookMarkIn(`<svg width="3" data-look="${mark}"><title>x</title>`)).toBe(mark);
    expect(lookMarkIn(`\x89PNG...II*\0${mark}\0IDAT`)).toBe(mark);
    expect(isLookAt(mark, file)).toBe(true);
    expect(isLookAt(mark, 'frame 2.fits')).toBe(false);
  }
});

it('any other file has none', () => {
  for (const text of ['', '<svg/>', 'poleward look: ', 'a photo']) expect(lookMarkIn(text)).toBeNull();
});
