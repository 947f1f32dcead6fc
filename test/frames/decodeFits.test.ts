import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { PolewardError } from '../../src/error.js';
import { decodeFits } from '../../src/frames/decodeFits.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { card, dataBytes, fitsFile, headerBytes, imageCards } from './fitsBytes.js';

const pixels = Buffer.from('000100020003000400050006', 'hex');
const good = (more: string[] = []) => fitsFile(16, [3, 2], pixels, more);
const decode = (bytes: Buffer) => decodeFits(bytes, 'a.fits', nodeDecoders.gunzip);
const failure = async (bytes: Buffer) => {
  try {
    await decode(bytes);
  } catch (error) {
    if (error instanceof PolewardError) return `${error.code}: ${error.message}`;
    throw error;
  }
  throw new Error('should have been refused');
};

// fits-reader logs to the console where it should be silent.
beforeEach(() => {
  for (const method of ['log', 'warn', 'error', 'info'] as const) vi.spyOn(console, method);
});
afterEach(() => {
  for (const method of ['log', 'warn', 'error', 'info'] as const) expect(console[method]).not.toHaveBeenCalled();
  vi.restoreAllMocks();
});

describe('the first picture of a FITS file', () => {
  it('comes row by row in file order', async () => {
    const { image } = await decode(good());
    expect(image).toMatchObject({ width: 3, height: 2 });
    expect([...image.data]).toEqual([1, 2, 3, 4, 5, 6]);
  });
  it('is as long as its axes say, also where GCOUNT makes the unit longer', async () => {
    const { image } = await decode(fitsFile(16, [3, 2], Buffer.concat([pixels, pixels, pixels]),
      [card('XTENSION', "'IMAGE   '"), card('GCOUNT', 3)]));
    expect([...image.data]).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('needs no padding behind its data', async () => {
    expect([...(await decode(good().subarray(0, 2880 + 12))).image.data]).toEqual([1, 2, 3, 4, 5, 6]);
  });
  it('is found whatever the header says on CONTINUE cards, ENDxxx keywords, stray bytes and a BITPIX with a sign', async () => {
    const cards = [card('SIMPLE', true), 'BITPIX  =                  +16', card('NAXIS', 2), card('NAXIS1', 3), card('NAXIS2', 2)];
    const odd = [card('ENDTIME', 5), "LONG    = 'a&'", "CONTINUE  'b'", "TEMP    = '5 \xb0C'"];
    const filler = Array.from({ length: 40 }, (_, i) => card(`K${i}`, i));
    const { image, headers } = await decode(Buffer.concat([headerBytes([...cards, ...odd, ...filler]), dataBytes(pixels)]));
    expect([...image.data]).toEqual([1, 2, 3, 4, 5, 6]);
    expect([headers.get('LONG'), headers.get('TEMP'), headers.get('ENDTIME'), headers.get('K39')]).toEqual(['ab', '5 \xb0C', 5, 39]);
  });
  it('is passed over where it has neither one nor three planes', async () => {
    const two = fitsFile(16, [1, 3, 2], pixels);
    const extension = [card('XTENSION', "'IMAGE   '"), ...imageCards(16, 3, 2).slice(1), card('PCOUNT', 0), card('GCOUNT', 1)];
    expect(await failure(two)).toMatch(/the axes 1 × 3 × 2, which is neither one picture nor three colour planes/);
    expect((await decode(Buffer.concat([two, headerBytes(extension), dataBytes(pixels)]))).image.width).toBe(3);
  });
  it('may have lost what follows it', async () => {
    expect((await decode(Buffer.concat([good(), Buffer.from('XTENSION= ')]))).image.width).toBe(3);
  });
  it('says that it is a colour mosaic where BAYERPAT names a 2x2 cell', async () => {
    expect((await decode(good([card('BAYERPAT', "'RGGB    '")]))).mosaic).toBe(true);
    expect((await decode(good([card('BAYERPAT', "'        '")]))).mosaic).toBe(false);
    expect((await decode(good([]))).mosaic).toBe(false);
  });
});

describe('damaged FITS files', () => {
  it('without an END card are cut short', async () => {
    expect(await failure(good().subarray(0, 300)))
      .toBe('file-truncated: a.fits is cut short: it ends within its header. Copy or save it again.');
  });
  it('with less data than the header says are cut short', async () => {
    expect(await failure(good().subarray(0, 2880 + 11))).toBe(
      'file-truncated: a.fits is cut short: it has 11 bytes of data where its header says 12. Copy or save it again.',
    );
  });
  it.each([
    ['a billion pixels squared', [1e9, 1e9]],
    ['more than numbers can count', [9e15, 9e15, 9e15]],
  ])('that promise %s are refused before memory is taken', async (_, axes) => {
    expect(await failure(fitsFile(16, axes, pixels))).toMatch(/^file-truncated: /);
  });
  it('with 999 axes of nine billion are refused', async () => {
    expect(await failure(fitsFile(16, Array<number>(999).fill(9e9), pixels))).toMatch(/^file-truncated: /);
  });
  it.each([
    ['BITPIX', 17, /BITPIX 17 is none/],
    ['BITPIX', "'16'", /BITPIX is not an integer/],
    ['NAXIS', 1000, /NAXIS is 1000/],
    ['NAXIS', -1, /NAXIS is -1/],
    ['NAXIS1', -3, /NAXIS1 is -3/],
    ['NAXIS2', 1.5, /NAXIS2 is not an integer/],
    ['NAXIS', 3, /NAXIS3 is missing/],
  ])('with %s = %s are refused', async (keyword, value, message) => {
    const cards = imageCards(16, 3, 2).map((c) => (c.startsWith(keyword.padEnd(8)) ? card(keyword, value) : c));
    expect(await failure(Buffer.concat([headerBytes(cards), dataBytes(pixels)]))).toMatch(message);
  });
  it.each(['BITPIX', 'NAXIS', 'NAXIS2'])('without %s are refused', async (keyword) => {
    const cards = imageCards(16, 3, 2).filter((c) => !c.startsWith(keyword.padEnd(8)));
    expect(await failure(Buffer.concat([headerBytes(cards), dataBytes(pixels)]))).toMatch(new RegExp(`${keyword} is missing`));
  });
  it('with no data at all hold no picture', async () => {
    expect(await failure(headerBytes([card('SIMPLE', true), card('BITPIX', 8), card('NAXIS', 0)])))
      .toMatch(/^not-an-image: .*holds no picture/);
    expect(await failure(fitsFile(16, [3, 0], Buffer.alloc(0)))).toMatch(/holds no picture/);
  });

  it('with more pixels than a camera has are refused', async () => {
    const bytes = Buffer.concat([headerBytes(imageCards(8, 30_000, 7000)), Buffer.alloc(30_000 * 7000)]);
    expect(await failure(bytes))
      .toBe('too-large: a.fits has 210 megapixels, more than the 200 this program reads. Give single frames, binned if need be.');
  });

  it.each([
    ['colour planes whose mean', 16, [9800, 9800, 3], [card('BZERO', 32768)]],
    ['integers whose scaled values', 16, [14_000, 14_000], [card('BSCALE', 0.5)]],
    ['64-bit integers whose values', 64, [8500, 8500], []],
  ] as const)('with %s would take too much memory beside them are refused before it is taken', async (_, bitpix, axes, more) => {
    const header = headerBytes([...imageCards(bitpix, ...axes), ...more]);
    // Zeros that are never written take no memory.
    const bytes = Buffer.alloc(header.length + axes.reduce((a, b) => a * b, bitpix / 8));
    header.copy(bytes);
    const before = process.memoryUsage().rss;
    expect(await failure(bytes))
      .toMatch(/^too-large: a\.fits would take (0\.89|0\.9|1\.)\d* GiB of memory, and this program takes 1 GiB at most\. /);
    expect(process.memoryUsage().rss - before).toBeLessThan(50e6);
  });
  it('in floating-point colour have their mean in the first plane, without more memory', async () => {
    const planes = Buffer.alloc(4 * 3 * 6);
    Array.from({ length: 18 }, (_, i) => planes.writeFloatBE(i, 4 * i));
    const { image } = await decode(fitsFile(-32, [3, 2, 3], planes));
    expect([...image.data]).toEqual([6, 7, 8, 9, 10, 11]);
    const header = headerBytes(imageCards(-32, 300, 200, 3));
    const bytes = Buffer.alloc(header.length + 300 * 200 * 12);
    header.copy(bytes);
    expect((await decode(bytes)).image.data.buffer).toBe(bytes.buffer);
  });
  it('with headers of more than 4 MiB have no end', async () => {
    const cards = Array.from({ length: 52_430 }, (_, i) => card(`K${i}`, i));
    expect(await failure(Buffer.concat([headerBytes([...imageCards(8, 10, 10), ...cards]), Buffer.alloc(2880)])))
      .toBe('not-an-image: a.fits has a damaged FITS header: its header has no end. Save it again, or leave it out.');
  });

  it('cut anywhere or with any bytes changed either read or raise a PolewardError', async () => {
    const whole = good([card('BLANK', 3), "LONG    = 'a&'", "CONTINUE  'b'", card('BZERO', 32768)]);
    const change = fc.record({ at: fc.nat(whole.length - 1), byte: fc.nat(255) });
    await fc.assert(
      fc.asyncProperty(fc.nat(whole.length), fc.array(change, { maxLength: 4 }), async (length, changes) => {
        const bytes = Buffer.from(whole.subarray(0, length));
        for (const { at, byte } of changes) if (at < length) bytes[at] = byte;
        try {
          const { image } = await decode(bytes);
          expect(image.data.length).toBe(image.width * image.height);
        } catch (error) {
          expect(error).toBeInstanceOf(PolewardError);
        }
      }),
      { numRuns: 500 },
    );
  });
  it('with any bytes changed in the cards that give sizes either read or raise a PolewardError', async () => {
    const whole = good();
    const change = fc.record({ at: fc.nat(6 * 80), byte: fc.constantFrom(...Buffer.from(" 0123456789=-+.'/ENDAXISBTP\0\xff", 'latin1')) });
    await fc.assert(
      fc.asyncProperty(fc.array(change, { minLength: 1, maxLength: 6 }), async (changes) => {
        const bytes = Buffer.from(whole);
        for (const { at, byte } of changes) bytes[at] = byte;
        try {
          const { image } = await decode(bytes);
          expect(image.data.length).toBe(image.width * image.height);
        } catch (error) {
          expect(error).toBeInstanceOf(PolewardError);
        }
      }),
      { numRuns: 600 },
    );
  });
});
