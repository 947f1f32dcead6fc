import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Frame } from '../../src/frames/frame.js';
import { readFrame } from '../../src/node/readFrame.js';
import { card, fitsFile } from './fitsBytes.js';
import { expectInPlace, type StrewnMosaic, strewnMosaic } from './strewnMosaic.js';

const COLOURS: Record<string, number> = { R: 0, G: 1, B: 2 };
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'mosaic-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** The frame read back from a FITS file of unsigned 16-bit integers. */
async function written(mosaic: StrewnMosaic, cards: readonly string[]): Promise<Frame> {
  const pixels = Buffer.alloc(mosaic.data.length * 2);
  mosaic.data.forEach((value, i) => pixels.writeUInt16BE(value ^ 0x8000, 2 * i));
  const path = join(folder, 'mosaic.fits');
  writeFileSync(path, fitsFile(16, [mosaic.width, mosaic.height], pixels, [card('BZERO', 32768), ...cards]));
  return readFrame(path);
}

describe('stars in a FITS colour mosaic are placed in pixels of the whole frame', () => {
  it.each([
    ['RGGB', 0, 0, 'BOTTOM-UP'], ['GRBG', 0, 0, 'TOP-DOWN'], ['GBRG', 0, 0, 'TOP-DOWN'], ['BGGR', 0, 0, 'BOTTOM-UP'],
    ['RGGB', 1, 0, 'TOP-DOWN'], ['RGGB', 0, 1, 'TOP-DOWN'], ['GBRG', 1, 1, 'BOTTOM-UP'],
  ])('%s, XBAYROFF %i, YBAYROFF %i, %s', async (pattern, left, top, order) => {
    const mosaic = strewnMosaic([...pattern].map((letter) => COLOURS[letter] as number), 2, left, top, 3);
    const frame = await written(mosaic, [
      card('BAYERPAT', `'${pattern}    '`), card('XBAYROFF', left), card('YBAYROFF', top), card('ROWORDER', `'${order}'`),
    ]);
    expect(frame.pixelOffset).toBe(0.5);
    expect(frame.firstRowBottom).toBe(order === 'BOTTOM-UP');
    expectInPlace(frame, mosaic);
  });
  it('also where binning has mixed its colours and the header still names them', async () => {
    // All pixels of one filter: what a mosaic binned 2x2 looks like.
    const mosaic = strewnMosaic([1, 1, 1, 1], 2, 0, 0, 4);
    const frame = await written(mosaic, [card('BAYERPAT', "'RGGB'"), card('XBINNING', 2), card('YBINNING', 2), card('XPIXSZ', 7.52)]);
    expectInPlace(frame, mosaic);
    expect(frame.metadata).toMatchObject({ binning: { value: 2 }, pixelSizeMicrometres: { value: 7.52 } });
  });
  it('as in a float or 32-bit one', async () => {
    const mosaic = strewnMosaic([0, 1, 1, 2], 2, 0, 0, 6);
    for (const bitpix of [32, -32]) {
      const pixels = Buffer.alloc(mosaic.data.length * 4);
      mosaic.data.forEach((value, i) => (bitpix > 0 ? pixels.writeInt32BE(value, 4 * i) : pixels.writeFloatBE(value, 4 * i)));
      const path = join(folder, 'mosaic.fits');
      writeFileSync(path, fitsFile(bitpix, [mosaic.width, mosaic.height], pixels, [card('COLORTYP', "'RGGB'")]));
      expectInPlace(await readFrame(path), mosaic);
    }
  });
  it('which a mosaic taken for grey would not do better', async () => {
    // The same without BAYERPAT: the check above would notice a mosaic that was overlooked.
    const mosaic = strewnMosaic([0, 1, 1, 2], 2, 0, 0, 3);
    const frame = await written(mosaic, []);
    expect(() => expectInPlace({ ...frame, pixelOffset: 0.5 }, mosaic)).toThrow();
  });
});
