import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { tiffStructure } from '../../src/frames/tiffDirectory.js';
import { lzwWithin } from '../../src/page/frame/lzwWithin.js';
import { makeRandom } from '../../src/simulate/random.js';

describe('LZW as TIFF has it', () => {
  test.each([
    ['noise', 256], ['few levels', 5], ['one level', 1],
  ])('counts what libtiff has packed of %s to the byte', async (_, levels) => {
    const random = makeRandom('lzw');
    const [width, height] = [300, 200];
    const samples = Uint8Array.from({ length: width * height }, () => Math.floor(levels * random.uniform()));
    const bytes = await sharp(samples, { raw: { width, height, channels: 1 } }).tiff({ compression: 'lzw', predictor: 'none' }).toBuffer();
    const { entries } = tiffStructure(bytes)!.directory(tiffStructure(bytes)!.first)!;
    const rows = entries.get(278)!.number(0)!;
    for (let i = 0; i < entries.get(273)!.count; i++) {
      const [from, length] = [entries.get(273)!.number(i)!, entries.get(279)!.number(i)!];
      const holds = Math.min(rows, height - i * rows) * width * (entries.get(277)?.number(0) ?? 1);
      const strip = bytes.subarray(from, from + length);
      expect([lzwWithin(strip, holds), lzwWithin(strip, holds - 1)]).toEqual([true, false]);
    }
  });

  test('refuses codes that mean nothing yet', () => {
    expect(lzwWithin(Uint8Array.of(0x80, 0x7f, 0xff, 0xff), 1e6)).toBe(false);
  });
});
