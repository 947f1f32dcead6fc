import fc from 'fast-check';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { gunzipFits as gunzipFitsBy } from '../../src/frames/gunzipFits.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { card, dataBytes, fitsFile, headerBytes, imageCards } from './fitsBytes.js';

const gunzipFits = async (packed: Uint8Array, file: string) => Buffer.from((await gunzipFitsBy(packed, file,
  nodeDecoders.gunzipPieces)).bytes);
const pixels = Buffer.from('000100020003000400050006', 'hex');
const file = fitsFile(16, [3, 2], pixels);
const refused = async (packed: Buffer, code: string, message: RegExp): Promise<void> =>
  expect(gunzipFits(packed, 'a.fits.gz')).rejects.toMatchObject({ name: 'PolewardError', code,
    message: expect.stringMatching(message) as string });

describe('FITS in gzip', () => {
  it('comes as it was', async () => {
    expect(await gunzipFits(gzipSync(file), 'a')).toEqual(file);
  });
  it('may have extensions', async () => {
    const extension = [card('XTENSION', "'IMAGE   '"), ...imageCards(16, 3, 2).slice(1), card('PCOUNT', 0), card('GCOUNT', 1)];
    const whole = Buffer.concat([file, headerBytes(extension), dataBytes(pixels)]);
    expect(await gunzipFits(gzipSync(whole), 'a')).toEqual(whole);
  });
  it('is unpacked no further than its last unit', async () => {
    const packed = gzipSync(Buffer.concat([file, Buffer.alloc(64e6)]));
    expect(await gunzipFits(packed, 'a')).toEqual(file);
  });
  it('that is unpacked in several pieces is complete', async () => {
    const data = Buffer.from(Uint8Array.from({ length: 2 * 1500 * 1100 }, (_, i) => (i * 7919) >> 3));
    const whole = fitsFile(16, [1500, 1100], data);
    expect((await gunzipFits(gzipSync(whole), 'a')).equals(whole)).toBe(true);
  });
});

describe('gzip files that are refused', () => {
  it('hold no FITS', () => refused(gzipSync(Buffer.from('dear diary')), 'not-an-image', /what is in it is no FITS file/));
  it('hold nothing', () => refused(gzipSync(Buffer.alloc(0)), 'not-an-image', /no FITS file/));
  it('are cut short', () => refused(gzipSync(file).subarray(0, 60), 'file-truncated', /cut short or damaged/));
  it('are damaged', () => refused(Buffer.concat([gzipSync(file).subarray(0, 20), Buffer.from('rubbish')]), 'file-truncated',
    /cut short or damaged/));
  it('claim more than the limit, before memory for it is taken', async () => {
    const before = process.memoryUsage().rss;
    const claims = gzipSync(Buffer.concat([headerBytes(imageCards(16, 40_000, 40_000)), Buffer.alloc(1e7)]));
    await refused(claims, 'too-large', /has 2\.98 GiB once unpacked, and this program unpacks 0\.5 GiB at most/);
    expect(process.memoryUsage().rss - before).toBeLessThan(200e6);
  });
  it('claim more than numbers can count', () =>
    refused(gzipSync(headerBytes(imageCards(16, 9e15, 9e15, 9e15, 9e15))), 'too-large', /GiB once unpacked/));
  it('have a header without an end', () => refused(gzipSync(Buffer.concat([Buffer.from('SIMPLE  ='), Buffer.alloc(3e7, 32)])),
    'not-an-image', /its header has no end/));
  it('or read, but raise nothing but a PolewardError, cut anywhere or with bytes changed', async () => {
    const whole = gzipSync(file);
    await fc.assert(fc.asyncProperty(fc.nat(whole.length), fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(255)), { maxLength: 3 }),
      async (length, changes) => {
      const packed = Buffer.from(whole.subarray(0, length));
      for (const [at, byte] of changes) if (at < length) packed[at] = byte;
      try {
        expect((await gunzipFits(packed, 'a')).length).toBeGreaterThan(0);
      } catch (error) {
        expect(error).toBeInstanceOf(PolewardError);
      }
    }), { numRuns: 150 });
  });
});

describe('what follows in a gzip file is no matter', () => {
  it.each([
    ['zeros', Buffer.alloc(600)], ['a line of text', Buffer.from('copied by hand\n')],
      ['the beginning of another', gzipSync(Buffer.from('x')).subarray(0, 6)],
  ])('%s', async (_, trailing) => {
    expect(await gunzipFits(Buffer.concat([gzipSync(file), trailing]), 'a')).toEqual(file);
    const data = Buffer.from(Uint8Array.from({ length: 2 * 1500 * 1100 }, (_, i) => (i * 7919) >> 3));
    const large = fitsFile(16, [1500, 1100], data);
    expect((await gunzipFits(Buffer.concat([gzipSync(large), trailing]), 'a')).equals(large)).toBe(true);
    expect(Buffer.from(nodeDecoders.gunzip(Buffer.concat([gzipSync(file), trailing]), 1e6))).toEqual(file);
  });
  it('but a second packed piece is part of it', async () => {
    expect(await gunzipFits(Buffer.concat([gzipSync(file.subarray(0, 3000)), gzipSync(file.subarray(3000))]), 'a')).toEqual(file);
  });
  it('and damage within is damage', async () => {
    const packed = gzipSync(file);
    packed[packed.length - 30]! ^= 0x55;
    await refused(Buffer.concat([packed, Buffer.from('rubbish')]), 'file-truncated', /cut short or damaged/);
  });
  it('also where the packed file has a name, a comment, an extra field and a checksum of its header', async () => {
    const plain = gzipSync(file);
    const head = Buffer.concat([Buffer.of(0x1f, 0x8b, 8, 30, 0, 0, 0, 0, 0, 3), Buffer.of(2, 0, 7, 7), Buffer.from('a.fits\0'),
      Buffer.from('night\0')]);
    const packed = Buffer.concat([head, headerChecksum(head), plain.subarray(10), Buffer.from('rubbish')]);
    expect(await gunzipFits(packed, 'a')).toEqual(file);
  });
});

/** The low half of the CRC-32 of a gzip header (RFC 1952, section 2.3.1), as gzip itself makes it of a file. */
function headerChecksum(head: Buffer): Buffer {
  return gzipSync(head).subarray(-8, -6);
}
