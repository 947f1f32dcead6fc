import { afterAll, expect, it, vi } from 'vitest';

const HEAVY = ['sharp', '../../src/frames/decodeRaw.js', '../../src/frames/fitsTiles.js', '../../src/frames/gunzipFits.js'];
// Modules are shared with the test files before and after this one.
vi.resetModules();
for (const heavy of HEAVY) {
  vi.doMock(heavy, () => {
    throw new Error(`${heavy} was loaded`);
  });
}
const { readFrame } = await import('../../src/node/readFrame.js');
afterAll(() => {
  for (const heavy of HEAVY) vi.doUnmock(heavy);
  vi.resetModules();
});
const folder = new URL('../../testdata/frames/', import.meta.url).pathname;

it('a FITS frame is read without loading what takes long and only other frames need', async () => {
  expect((await readFrame(`${folder}uint16.fits`)).image.width).toBe(7);
  // The check above does find a module that is loaded.
  await expect(readFrame(`${folder}grey8.png`)).rejects.toThrow();
  await expect(readFrame(`${folder}compressed/uint16.fits.gz`)).rejects.toThrow();
  await expect(readFrame(`${folder}compressed/uint16-rice_1.fits.fz`)).rejects.toThrow();
});
