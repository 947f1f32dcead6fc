import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { decodeFrame } from '../../src/frames/decodeFrame.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { type Tag, tiffBytes, TiffWriter } from './tiffBytes.js';

/** A grey TIFF of 32 × 32 pixels with some tags changed. */
function tiffWith(...changed: Tag[]): Buffer {
  const write = new TiffWriter(false);
  const data = write.add(Buffer.alloc(32 * 32 * 16, 9));
  const tags = new Map<number, Tag>(([
    [256, 4, [32]], [257, 4, [32]], [258, 3, [8]], [259, 3, [1]], [262, 3, [1]], [273, 4, [data]], [277, 3, [1]], [278, 4, [32]],
      [279, 4, [32 * 32 * 16]],
  ] as Tag[]).concat(changed).map((tag) => [tag[0], tag]));
  return write.file([...tags.values()]);
}
const decode = (bytes: Buffer): Promise<unknown> => decodeFrame(bytes, 'a.tif', nodeDecoders);

describe('a TIFF of a kind that is not read is named, and not called damage', () => {
  it.each<[string, Tag[]]>([
    ['is compressed by JPEG 2000 (number 34712)', [[259, 3, [34712]]]],
    ['is compressed by Zstandard (number 50000)', [[259, 3, [50000]]]],
    ['is compressed by a method of its own (number 99)', [[259, 3, [99]]]],
    ['has samples of 12 bits (whole numbers)', [[258, 3, [12]]]],
    ['has samples of 64 bits (floating-point numbers)', [[258, 3, [64]], [339, 3, [3]]]],
    ['has samples of 128 bits (complex numbers)', [[258, 3, [128]], [339, 3, [6]]]],
    ['has samples of an unknown format (number 9)', [[339, 3, [9]]]],
    ['has samples of different sizes (8, 16, 8 bits)', [[262, 3, [2]], [277, 3, [3]], [258, 3, [8, 16, 8]]]],
    ['is divided into tiles of 24 × 24 pixels, which are not multiples of 16',
      [[322, 4, [24]], [323, 4, [24]], [324, 4, [8]], [325, 4, [576]]]],
  ])('it %s', async (what, tags) => {
    await expect(decode(tiffWith(...tags))).rejects.toMatchObject({
      code: 'not-an-image',
        message: `a.tif is a TIFF picture that ${what}, which this program doesn't read. Save it uncompressed, with 8 or 16 bits a sample.`,
    });
  });
  it('and one of a kind that is read, but cut or damaged, is called that', async () => {
    const message = 'a.tif begins as TIFF but is cut short or damaged. Copy or save it again.';
    await expect(decode(tiffWith([259, 3, [5]]))).rejects.toThrow(message);
    await expect(decode(tiffBytes(64, 64, 16, Buffer.alloc(8192, 7), []).subarray(0, 3000))).rejects.toThrow(message);
  });
  it('and what is read is read', async () => {
    for (const tags of [[], [[339, 3, [1]]], [[258, 3, [16]], [339, 3, [3]]], [[258, 3, [4]]]] as Tag[][]) {
      expect(await decode(tiffWith(...tags))).toMatchObject({ image: { width: 32, height: 32 } });
    }
    for (const compression of ['none', 'lzw', 'deflate', 'packbits', 'jpeg'] as const) {
      const grey = sharp(new Uint8Array(1024).fill(200), { raw: { width: 32, height: 32, channels: 1 } });
      const bytes = await grey.tiff({ compression }).toBuffer();
      expect(await decode(bytes), compression).toMatchObject({ image: { width: 32, height: 32 } });
    }
  });
});

it('a TIFF whose JPEG strips go over the picture in thousands of passes is refused', async () => {
  const { jpegInPasses } = await import('./jpegPasses.js');
  const jpeg = jpegInPasses(3000, 3000, 2500);
  const write = new TiffWriter(false);
  const strip = write.add(jpeg);
  const bytes = write.file([
    [256, 4, [3000]], [257, 4, [3000]], [258, 3, [8, 8, 8]], [259, 3, [7]], [262, 3, [2]], [273, 4, [strip]], [277, 3, [3]],
      [278, 4, [3000]], [279, 4, [jpeg.length]],
  ]);
  await expect(decode(bytes)).rejects.toThrow(/goes over its picture in 2500 passes/);
});
