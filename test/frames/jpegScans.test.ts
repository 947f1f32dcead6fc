import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { decodeFrame } from '../../src/frames/decodeFrame.js';
import { jpegScans } from '../../src/frames/jpegScans.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { jpegInPasses } from './jpegPasses.js';

const noise = (): ReturnType<typeof sharp> => sharp(Uint8Array.from({ length: 3 * 90 * 70 }, (_, i) => (i * 7919) >> 3),
  { raw: { width: 90, height: 70, channels: 3 } });

describe('passes of a JPEG', () => {
  it('are one where it is not progressive', async () => {
    expect(jpegScans(await noise().jpeg().toBuffer())).toEqual({ scans: 1, progressive: false });
  });
  it('are as many as an encoder made, whatever its pixels', async () => {
    const { scans, progressive } = jpegScans(await noise().jpeg({ progressive: true }).toBuffer());
    expect(progressive).toBe(true);
    expect(scans).toBeGreaterThanOrEqual(8);
    expect(scans).toBeLessThanOrEqual(14);
  });
  it('are counted up to the end of the picture', () => {
    const one = jpegInPasses(64, 64, 40);
    expect(jpegScans(one).scans).toBe(40);
    expect(jpegScans(Buffer.concat([one, one])).scans).toBe(40);
    expect(jpegScans(one.subarray(0, -2)).scans).toBe(40);
  });
  it('of bytes that are nothing are none, whatever they are', () => {
    for (const bytes of [Buffer.alloc(0), Buffer.of(0xff), Buffer.alloc(1000, 0xff), Buffer.of(0xff, 0xd8, 0xff, 0xe0, 0, 0),
      Buffer.alloc(9)]) {
      expect(jpegScans(bytes).scans).toBe(0);
    }
  });
});

describe('a progressive JPEG', () => {
  it('in more passes than any encoder makes is still read where it is small', async () => {
    const { image } = await decodeFrame(jpegInPasses(64, 48, 300), 'a.jpg', nodeDecoders);
    expect([image.width, image.height, image.data[0]]).toEqual([64, 48, 128]);
  });
  it('in thousands of passes over millions of pixels is refused', async () => {
    await expect(decodeFrame(jpegInPasses(3000, 3000, 2500), 'a.jpg', nodeDecoders))
      .rejects.toThrow('a.jpg goes over its picture in 2500 passes, more than the 88 that are unpacked of one in so few bytes. Save it '
        + 'again, not progressive.');
  });
});
