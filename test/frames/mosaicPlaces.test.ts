import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readFrame } from '../../src/frames/readFrame.js';
import { card, fitsFile } from './fitsBytes.js';
import { expectInPlace, strewnMosaic } from './strewnMosaic.js';

const COLOURS: Record<string, number> = { R: 0, G: 1, B: 2 };
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'mosaic-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('stars in a FITS colour mosaic are placed in pixels of the whole frame', () => {
  it.each([
    ['RGGB', 0, 0, 'BOTTOM-UP'], ['GRBG', 0, 0, 'TOP-DOWN'], ['GBRG', 0, 0, 'TOP-DOWN'], ['BGGR', 0, 0, 'BOTTOM-UP'],
    ['RGGB', 1, 0, 'TOP-DOWN'], ['RGGB', 0, 1, 'TOP-DOWN'], ['GBRG', 1, 1, 'BOTTOM-UP'],
  ])('%s, XBAYROFF %i, YBAYROFF %i, %s', async (pattern, left, top, order) => {
    const mosaic = strewnMosaic([...pattern].map((letter) => COLOURS[letter] as number), 2, left, top, 3);
    const pixels = Buffer.alloc(mosaic.data.length * 2);
    mosaic.data.forEach((value, i) => pixels.writeUInt16BE(value ^ 0x8000, 2 * i));
    const path = join(folder, 'mosaic.fits');
    writeFileSync(path, fitsFile(16, [mosaic.width, mosaic.height], pixels, [
      card('BZERO', 32768), card('BAYERPAT', `'${pattern}    '`), card('XBAYROFF', left), card('YBAYROFF', top), card('ROWORDER', `'${order}'`),
    ]));
    const frame = await readFrame(path);
    expect(frame.pixelOffset).toBe(0.5);
    expect(frame.firstRowBottom).toBe(order === 'BOTTOM-UP');
    expectInPlace(frame, mosaic);
  });
  it('which a mosaic taken for grey would not do better', async () => {
    // The same without BAYERPAT: the check above would notice a mosaic that was overlooked.
    const mosaic = strewnMosaic([0, 1, 1, 2], 2, 0, 0, 3);
    const pixels = Buffer.alloc(mosaic.data.length * 2);
    mosaic.data.forEach((value, i) => pixels.writeUInt16BE(value ^ 0x8000, 2 * i));
    const path = join(folder, 'grey.fits');
    writeFileSync(path, fitsFile(16, [mosaic.width, mosaic.height], pixels, [card('BZERO', 32768)]));
    const frame = await readFrame(path);
    expect(() => expectInPlace({ ...frame, pixelOffset: 0.5 }, mosaic)).toThrow();
  });
});
