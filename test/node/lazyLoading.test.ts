import { expect, it, vi } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';

for (const heavy of ['sharp', '../../src/frames/decodeRaw.js', '../../src/frames/fitsTiles.js', '../../src/frames/gunzipFits.js']) {
  vi.doMock(heavy, () => {
    throw new Error(`${heavy} was loaded`);
  });
}
const folder = new URL('../../testdata/frames/', import.meta.url).pathname;

it('a FITS frame is read without loading what takes long and only other frames need', async () => {
  expect((await readFrame(`${folder}uint16.fits`)).image.width).toBe(7);
  // What the check above would look like if any of them were loaded.
  await expect(readFrame(`${folder}grey8.png`)).rejects.toThrow();
  await expect(readFrame(`${folder}compressed/uint16.fits.gz`)).rejects.toThrow();
  await expect(readFrame(`${folder}compressed/uint16-rice_1.fits.fz`)).rejects.toThrow();
});
