import sharp, { type Sharp } from 'sharp';
import { describe, expect, it } from 'vitest';
import { nodeDecoders } from '../../src/node/decoders.js';
import { svgToPng } from '../../src/node/sharpLoaders.js';
import { decodeFrame } from '../../src/frames/decodeFrame.js';

const SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="30"><rect width="40" height="30" fill="navy"/></svg>';
const grey = (): Sharp => sharp(new Uint8Array(1200).fill(77), { raw: { width: 40, height: 30, channels: 1 } });

describe('a decoder opens nothing but what the bytes were told to be', () => {
  it.each(['avif', 'png', 'jpeg', 'tiff', 'webp'] as const)('%s is no SVG, whatever the SVG begins with', async (kind) => {
    await expect(nodeDecoders.openPicture(Buffer.from(`<!--ftypavif-->${SVG}`), kind)).rejects.toThrow();
    await expect(nodeDecoders.openPicture(Buffer.from(SVG), kind)).rejects.toThrow();
  });
  it('SVG that begins like AVIF is damaged AVIF', async () => {
    await expect(decodeFrame(Buffer.from(`<!--ftypavif-->${SVG}`), 'a.avif', nodeDecoders))
      .rejects.toThrow('a.avif begins as AVIF but is cut short or damaged. Copy or save it again.');
  });
  it('and one kind is not taken for another', async () => {
    const kinds = ['png', 'jpeg', 'tiff', 'webp', 'avif'] as const;
    for (const kind of kinds) {
      const bytes = await grey()[kind]().toBuffer();
      for (const told of kinds) {
        const opened = nodeDecoders.openPicture(bytes, told);
        if (told === kind) expect((await opened).width).toBe(40);
        else await expect(opened).rejects.toThrow(`told to be ${told}`);
      }
    }
  });
  it.each(['gif', 'svg'] as const)('%s, which is no frame, is not loaded at all', async (format) => {
    const bytes = format === 'svg' ? Buffer.from(SVG) : await grey().gif().toBuffer();
    await expect(sharp(bytes).metadata()).rejects.toThrow(/unsupported image format/);
  });
});

it('a drawing of our own becomes PNG, and SVG is not loaded afterwards', async () => {
  expect((await sharp(await svgToPng(SVG)).metadata())).toMatchObject({ format: 'png', width: 40, height: 30 });
  await expect(sharp(Buffer.from(SVG)).metadata()).rejects.toThrow(/unsupported image format/);
});
