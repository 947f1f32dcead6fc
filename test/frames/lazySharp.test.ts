import { expect, it, vi } from 'vitest';
import { readFrame } from '../../src/frames/readFrame.js';

vi.mock('sharp', () => {
  throw new Error('sharp was loaded');
});
const folder = new URL('../../testdata/frames/', import.meta.url).pathname;

it('a FITS frame is read without loading sharp, which takes long', async () => {
  expect((await readFrame(`${folder}uint16.fits`)).image.width).toBe(7);
  // What the check above would look like if it were loaded.
  await expect(readFrame(`${folder}grey8.png`)).rejects.toThrow();
});
