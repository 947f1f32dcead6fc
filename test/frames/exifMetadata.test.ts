import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import sharp from 'sharp';
import { decodeFrame } from '../../src/frames/decodeFrame.js';
import { exifMetadata } from '../../src/frames/exifMetadata.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { crc32 } from '../fuzz/hostilePictures.js';
import { exifBytes, type ExifValue } from './exifBytes.js';

// Tag numbers of Exif 2.32, tables 7 and 15.
const TAKEN = 0x9003;
const SUBSECOND = 0x9291;
const OFFSET = 0x9011;
const EXPOSURE = 0x829a;
const SHUTTER_SPEED = 0x9201;
const FOCAL_LENGTH = 0x920a;
const RESOLUTION = 0xa20e;

const read = (photo: Record<number, ExifValue>, offset: number | null = null, gps: Record<number, ExifValue> = {}) =>
  exifMetadata(exifBytes(photo, gps), offset);
const time = (photo: Record<number, ExifValue>, offset: number | null = null) => {
  const { midExposure } = read(photo, offset);
  return midExposure && `${midExposure.value.toISOString()} ${midExposure.from}`;
};

describe('middle of the exposure from EXIF', () => {
  const shot = { [TAKEN]: '2026:11:25 20:30:00', [EXPOSURE]: [[5, 1]] } as const;

  it('is the camera clock less its own offset, plus half the exposure', () => {
    expect(time({ ...shot, [OFFSET]: '+01:00' }))
      .toBe('2026-11-25T19:30:02.500Z EXIF DateTimeOriginal and OffsetTimeOriginal + half the exposure');
    expect(time({ ...shot, [OFFSET]: '-09:30' })).toMatch(/^2026-11-26T06:00:02.500Z/);
  });
  it('counts fractions of a second', () => {
    expect(time({ ...shot, [OFFSET]: '+01:00', [SUBSECOND]: '25' })).toMatch(/^2026-11-25T19:30:02.750Z/);
    expect(time({ ...shot, [OFFSET]: '+01:00', [SUBSECOND]: '025 ' })).toMatch(/^2026-11-25T19:30:02.525Z/);
  });
  it('takes the offset the person gives', () => {
    expect(time(shot, 60)).toBe('2026-11-25T19:30:02.500Z EXIF DateTimeOriginal and the zone given + half the exposure');
    expect(time(shot, 0)).toMatch(/^2026-11-25T20:30:02.500Z/);
  });
  it('lets the person overrule the camera, and says so', () => {
    const { midExposure, remarks } = read({ ...shot, [OFFSET]: '+02:00' }, 60);
    expect(midExposure?.value.toISOString()).toBe('2026-11-25T19:30:02.500Z');
    expect(remarks).toEqual(['EXIF OffsetTimeOriginal (+02:00) was overruled by the zone given.']);
    expect(read({ ...shot, [OFFSET]: '+01:00' }, 60).remarks).toEqual([]);
  });
  it.each([{}, { [OFFSET]: '   :  ' }, { [OFFSET]: '+25:00' }])('is unknown without a usable offset, never the zone of the computer',
    (tags) => {
    const { midExposure, remarks } = read({ ...shot, ...tags });
    expect(midExposure).toBeNull();
    expect(remarks).toEqual([
      'EXIF DateTimeOriginal was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.',
    ]);
  });
  it.each(['0000:00:00 00:00:00', '0000:01:01 00:00:00', '0001:01:01 00:00:00', '1899:12:31 23:59:59', '2200:01:01 00:00:00',
    '9999:12:31 23:59:59', '2026:02:30 20:30:00', '2026:11:25 25:30:00', 'yesterday', '    :  :     :  :  '])('is unknown for "%s"',
    (text) => {
    const { midExposure, remarks } = read({ ...shot, [TAKEN]: text, [OFFSET]: '+01:00' });
    expect(midExposure).toBeNull();
    expect(remarks).toEqual(['EXIF DateTimeOriginal was ignored: it is not a date and time.']);
  });
  it.each([1900, 2199])('is believed in the year %i, the first and the last', (year) => {
    expect(time({ ...shot, [TAKEN]: `${year}:06:15 12:00:00`, [OFFSET]: '+00:00' })).toMatch(new RegExp(`^${year}-06-15T12:00:02.500Z`));
  });
  it.each(['0000:11:25', '1899:11:25', '2200:11:25', '9999:99:99'])('is not held against satellites that give the day %s', (day) => {
    // GPSDateStamp and GPSTimeStamp: only the time of day counts then, and that agrees.
    const metadata = read({ ...shot, [OFFSET]: '+01:00' }, null, { 29: day, 7: [[19, 1], [30, 1], [2, 1]] });
    expect(metadata.midExposure?.value).toEqual(new Date('2026-11-25T19:30:02.500Z'));
    expect([metadata.clockDoubts, metadata.remarks]).toEqual([undefined, []]);
  });
  it('is unknown where EXIF has none', () => {
    expect(read({ [EXPOSURE]: [[5, 1]] })).toMatchObject({ midExposure: null,
      remarks: ['Its EXIF data gives no time (DateTimeOriginal).'] });
  });
  it('is the start, with a remark, where the exposure is unknown', () => {
    const { midExposure, remarks } = read({ [TAKEN]: '2026:11:25 20:30:00', [OFFSET]: '+01:00' });
    expect(midExposure).toEqual({ value: new Date('2026-11-25T19:30:00Z'), from: 'EXIF DateTimeOriginal and OffsetTimeOriginal' });
    expect(remarks).toEqual(['The exposure is unknown, so EXIF DateTimeOriginal is taken as its middle.']);
  });
});

describe('dates and exposures as some cameras write them', () => {
  it('a date with two NULs at its end, 21 bytes, is that date', () => {
    expect(time({ [TAKEN]: '2026:11:25 20:30:00\0', [EXPOSURE]: [[5, 1]], [OFFSET]: '+01:00\0' })).toMatch(/^2026-11-25T19:30:02.500Z/);
  });
  it('an exposure in APEX units counts where there is none in seconds', () => {
    const exposure = (photo: Record<number, ExifValue>) => read({ [TAKEN]: '2026:11:25 20:30:00', [OFFSET]: '+01:00',
      ...photo }).exposureSeconds;
    expect(exposure({ [SHUTTER_SPEED]: { signed: [-3, 1] } })).toEqual({ value: 8, from: 'EXIF ShutterSpeedValue' });
    expect(exposure({ [SHUTTER_SPEED]: { signed: [7, 1] } })?.value).toBeCloseTo(1 / 128, 12);
    expect(exposure({ [SHUTTER_SPEED]: { signed: [-4907, 1000] } })?.value).toBeCloseTo(30, 1);
    expect(exposure({ [EXPOSURE]: [[30, 1]], [SHUTTER_SPEED]: { signed: [-3, 1] } })).toEqual({ value: 30, from: 'EXIF ExposureTime' });
    expect(exposure({ [SHUTTER_SPEED]: { signed: [0, 0] } })).toBeNull();
    expect(read({ [SHUTTER_SPEED]: { signed: [-900, 1] } }).remarks[0])
      .toMatch(/^EXIF ShutterSpeedValue was ignored: ".+" is not between 0 and 86400\.$/);
  });
});

describe('time and exposure from XMP', () => {
  const packet = (inside: string): Buffer => Buffer.from(
    `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description `
      + `${inside}</rdf:Description></rdf:RDF></x:xmpmeta>`,
  );
  const attributes = packet('exif:DateTimeOriginal="2026-11-25T20:30:00.25+01:00" exif:ExposureTime="30/1">');
  const elements = packet('><exif:DateTimeOriginal>2026-11-25T20:30:00.25+01:00</exif:DateTimeOriginal>'
    + '<exif:ExposureTime>30/1</exif:ExposureTime>');

  it.each([['attributes', attributes], ['elements', elements]])('as %s counts where EXIF says nothing', (_, xmp) => {
    for (const exif of [null, exifBytes({})]) {
      expect(exifMetadata(exif, null, xmp)).toMatchObject({
        midExposure: { value: new Date('2026-11-25T19:30:15.250Z'), from: 'XMP DateTimeOriginal + half the exposure' },
        exposureSeconds: { value: 30, from: 'XMP ExposureTime' }, utcOffsetMinutes: { value: 60, from: 'XMP DateTimeOriginal' },
          remarks: [],
      });
    }
  });
  it('gives its zone to the same time in EXIF, not to another', () => {
    const shot = { [TAKEN]: '2026:11:25 20:30:00', [EXPOSURE]: [[5, 1]] } as const;
    expect(exifMetadata(exifBytes(shot), null, attributes).midExposure).toEqual({
      value: new Date('2026-11-25T19:30:02.500Z'), from: 'EXIF DateTimeOriginal and XMP DateTimeOriginal + half the exposure',
    });
    expect(exifMetadata(exifBytes({ ...shot, [TAKEN]: '2026:11:25 19:30:00' }), null, attributes).midExposure).toBeNull();
    expect(exifMetadata(exifBytes({ ...shot, [OFFSET]: '+02:00' }), null, attributes).midExposure?.value)
      .toEqual(new Date('2026-11-25T18:30:02.500Z'));
  });
  it('without a zone needs one, and the person overrules it', () => {
    const local = packet('xmp:CreateDate="2026-11-25T20:30:00">');
    expect(exifMetadata(null, null, local)).toMatchObject({
      midExposure: null,
        remarks: ['XMP CreateDate was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.'],
    });
    expect(exifMetadata(null, 60, local).midExposure?.value).toEqual(new Date('2026-11-25T19:30:00Z'));
    expect(exifMetadata(null, 120, attributes).midExposure?.value).toEqual(new Date('2026-11-25T18:30:15.250Z'));
  });
  it('is nothing where it is nonsense', () => {
    for (const xmp of [Buffer.alloc(0), Buffer.from('<x'), Buffer.alloc(9000, 0xff),
      packet('exif:DateTimeOriginal="2026-02-31T20:30:00Z" exif:ExposureTime="1/0">')]) {
      expect(exifMetadata(null, null, xmp)).toMatchObject({ midExposure: null, exposureSeconds: null });
    }
  });
  it.each(['jpeg', 'png', 'webp', 'tiff', 'avif'] as const)('is found in %s', async (format) => {
    const grey = sharp(new Uint8Array(600), { raw: { width: 20, height: 30, channels: 1 } });
    const bytes = format === 'png' ? withText(await grey.png().toBuffer(), attributes) : await grey.withXmp(attributes.toString())[format]()
      .toBuffer();
    const { metadata } = await decodeFrame(bytes, 'a', nodeDecoders);
    expect(metadata.midExposure?.value).toEqual(new Date('2026-11-25T19:30:15.250Z'));
  });
});

/** A PNG with a text piece of XMP behind its first piece, as the specification has it; sharp writes another. */
function withText(png: Buffer, xmp: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from('iTXtXML:com.adobe.xmp\0\0\0\0\0', 'latin1'), xmp]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(body.length - 4);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([png.subarray(0, 33), length, body, sum, png.subarray(33)]);
}

describe('exposure, optics and site from EXIF', () => {
  const quiet = { [TAKEN]: '2026:11:25 20:30:00', [OFFSET]: '+01:00', [EXPOSURE]: [[1, 3]] } as const;

  it('are taken with the tag they came from', () => {
    // Invented site; 1000 pixels in 5 mm = 5 µm.
    const site = { 1: 'S', 2: [[39, 1], [12, 1], [30, 1]], 3: 'W', 4: [[3, 1], [24, 1], [0, 1]], 5: { byte: 0 }, 6: [[7105, 10]] } as const;
    const metadata = read({ ...quiet, [FOCAL_LENGTH]: [[50, 1]], [RESOLUTION]: [[25_400_000, 5_000]] }, null, site);
    expect(metadata).toMatchObject({
      exposureSeconds: { value: 1 / 3, from: 'EXIF ExposureTime' },
      focalLengthMillimetres: { value: 50, from: 'EXIF FocalLength' },
      pixelSizeMicrometres: { value: 5, from: 'EXIF FocalPlaneXResolution' },
      binning: null,
      elevationMetres: { value: 710.5, from: 'EXIF GPSAltitude' },
      remarks: [],
    });
    expect(metadata.latitudeDeg?.value).toBeCloseTo(-(39 + 12.5 / 60), 12);
    expect(metadata.longitudeDeg?.value).toBeCloseTo(-3.4, 12);
  });
  it('count a height below the sea as negative', () => {
    expect(read(quiet, null, { 5: { byte: 1 }, 6: [[400, 1]] }).elevationMetres?.value).toBe(-400);
  });
  it('take a focal length of 0 or 0/0 for unknown', () => {
    expect(read({ ...quiet, [FOCAL_LENGTH]: [[0, 1]] })).toMatchObject({ focalLengthMillimetres: null, remarks: [] });
    expect(read({ ...quiet, [FOCAL_LENGTH]: [[0, 0]] })).toMatchObject({ focalLengthMillimetres: null, remarks: [] });
  });
  it('leave out nonsense with a remark', () => {
    expect(read({ ...quiet, [EXPOSURE]: [[1, 0]] }).remarks[0])
      .toBe('EXIF ExposureTime was ignored: "Infinity" is not between 0 and 86400.');
    expect(read(quiet, null, { 1: 'N', 2: [[91, 1], [0, 1], [0, 1]] }).remarks)
      .toEqual(['EXIF GPSLatitude was ignored: "91" is not between -90 and 90.']);
    expect(read(quiet, null, { 1: 'X', 2: [[9, 1], [0, 1], [0, 1]] }).remarks)
      .toEqual(['EXIF GPSLatitude was ignored: "NaN" is not readable.']);
  });
});

it('damaged EXIF never throws', () => {
  const whole = exifBytes({ [TAKEN]: '2026:11:25 20:30:00', [EXPOSURE]: [[5, 1]] }, { 1: 'N', 2: [[39, 1], [12, 1], [30, 1]] });
  const change = fc.record({ at: fc.nat(whole.length - 1), byte: fc.nat(255) });
  fc.assert(
    fc.property(fc.nat(whole.length), fc.array(change, { maxLength: 4 }), (length, changes) => {
      const bytes = Buffer.from(whole);
      for (const { at, byte } of changes) bytes[at] = byte;
      expect(Array.isArray(exifMetadata(bytes.subarray(0, length), null).remarks)).toBe(true);
    }),
    { numRuns: 1000 },
  );
});
