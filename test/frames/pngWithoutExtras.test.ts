import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { pngWithoutExtras as without } from '../../src/frames/pngWithoutExtras.js';

const pngWithoutExtras = (bytes: Uint8Array): Buffer => Buffer.from(without(bytes));
const names = (bytes: Buffer): string[] => {
  const found = [];
  for (let at = 8; at + 12 <= bytes.length; at += 12 + bytes.readUInt32BE(at)) found.push(bytes.toString('latin1', at + 4, at + 8));
  return found;
};
const make = (): Promise<Buffer> =>
  sharp(Uint8Array.from({ length: 600 }, (_, i) => i), { raw: { width: 20, height: 30, channels: 1 } })
    .withIccProfile('p3').withExif({ IFD2: { DateTimeOriginal: '2026:11:25 20:30:00' } }).withXmp('<x/>').png().toBuffer();

describe('PNG without what no frame needs', () => {
  it('keeps pixels and EXIF', async () => {
    const whole = await make();
    expect(names(whole)).toEqual(expect.arrayContaining(['iCCP', 'zTXt']));
    const before = await sharp(whole, { ignoreIcc: true }).raw().toBuffer();
    const { exif } = await sharp(whole).metadata();
    const bare = pngWithoutExtras(Buffer.from(whole));
    expect(new Set(names(bare))).toEqual(new Set(['IHDR', 'eXIf', 'IDAT', 'IEND']));
    expect(await sharp(bare).raw().toBuffer()).toEqual(before);
    expect((await sharp(bare).metadata()).exif).toEqual(exif);
  });
  it('keeps what is cut short or no piece as it is', async () => {
    const whole = await make();
    const bare = pngWithoutExtras(Buffer.from(whole));
    const cut = whole.subarray(0, -40);
    const left = pngWithoutExtras(Buffer.from(cut));
    expect(left).toEqual(bare.subarray(0, -40));
    for (const odd of [whole.subarray(0, 8), whole.subarray(0, 15), Buffer.concat([whole.subarray(0, 8),
      Buffer.alloc(40, 0xff)])]) expect(pngWithoutExtras(Buffer.from(odd))).toEqual(odd);
  });
});
