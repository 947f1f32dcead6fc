import { describe, expect, it } from 'vitest';
import { apartWords, looksLike, offsetWords, zoneOf } from '../../src/frames/clockDoubts.js';
import { exifMetadata } from '../../src/frames/exifMetadata.js';
import { parseCards } from '../../src/frames/fitsCard.js';
import { fitsMetadata } from '../../src/frames/fitsMetadata.js';
import { exifBytes, type ExifValue } from './exifBytes.js';
import { card } from './fitsBytes.js';

type Cards = Record<string, string | number>;
const fits = (cards: Cards, utcOffsetMinutes: number | null = null) =>
  fitsMetadata(parseCards(Object.entries(cards).map(([key, value]) => card(key, typeof value === 'string' ? `'${value}'` : value))),
    utcOffsetMinutes);
const base = { 'DATE-OBS': '2026-11-25T23:30:00', EXPTIME: 10 } as const;

describe('a FITS header whose times agree raises no doubt', () => {
  it.each<[string, Cards]>([
    ['one time', {}],
    ['DATE-END and DATE-AVG', { 'DATE-END': '2026-11-25T23:30:12.5', 'DATE-AVG': '2026-11-25T23:30:05' }],
    ['Julian dates cut to four decimals', { 'MJD-OBS': 61369.9791, JD: 2461370.4791 }],
    ['times of day beside it', { 'TIME-OBS': '23:30:00.0', UT: '23:30:05', UTC: '23:30:00Z', UTSTART: '23:29:59' }],
    ['an exposure over midnight with its end as a time of day', { 'DATE-OBS': '2026-11-25T23:59:58', 'UTC-OBS': '00:00:03' }],
    ['a local time with its zone', { 'DATE-LOC': '2026-11-26T05:15:00' }],
    ['a file written later, even days', { DATE: '2026-11-28T08:00:00' }],
    ['a date of writing without time of day', { DATE: '2026-11-25' }],
  ])('%s', (_, cards) => {
    expect(fits({ ...base, ...cards }).clockDoubts).toBeUndefined();
  });
  it('atomic time against a Julian date of the same scale', () => {
    // FITS 4.0, section 9.2.1: TIMESYS holds for all of them.
    expect(fits({ ...base, TIMESYS: 'TAI', 'MJD-OBS': 61369.979167 }).clockDoubts).toBeUndefined();
  });
});

describe('a FITS header that contradicts itself is doubted', () => {
  it.each<[string, Cards, RegExp]>([
    ['MJD-OBS an hour off: daylight saving', { 'MJD-OBS': 61369.9791667 - 1 / 24 }, /^FITS MJD-OBS says 2026-11-25 22:30:00 where FITS DATE-OBS makes it 2026-11-25 23:30:00 UTC, 1 h apart\. Local time written as UTC does that, or daylight saving\.$/],
    ['JD of the next day: a date that did not roll', { JD: 2461370.4791667 + 1 },
      /24 h apart\. A date that did not change at midnight does that\.$/],
    ['a time of day on another clock', { 'TIME-OBS': '18:00:00' }, /^FITS TIME-OBS says 18:00:00 where .*, 5 h 30 min apart\. Local time/],
    ['an end before its beginning', { 'DATE-END': '2026-11-25T22:30:10' }, /^FITS DATE-END says 2026-11-25 22:30:10/],
    ['a mean outside the exposure', { 'DATE-BEG': '2026-11-25T23:40:00' }, /DATE-BEG .* 10 min apart\.$/],
    ['a local time that no zone has', { 'DATE-LOC': '2026-11-26T00:07:00' },
      /^FITS DATE-LOC is 37 min ahead of the UTC of the header, which no zone is/],
    ['a local date a day off', { 'DATE-LT': '2026-11-27T00:30:00' }, /^FITS DATE-LT is 25 h ahead of the UTC/],
    ['a file written before its exposure was over', { DATE: '2026-11-25T21:30:15' },
      /^FITS DATE says the file was written at 2026-11-25 21:30:15 UTC, 2 h before its exposure was over\. Local time/],
  ])('%s', (_, cards, says) => {
    const { clockDoubts, midExposure } = fits({ ...base, ...cards });
    expect(clockDoubts).toHaveLength(1);
    expect(clockDoubts![0]).toMatch(says);
    // It is said, never silently put right.
    expect(midExposure?.value.toISOString()).toBe('2026-11-25T23:30:05.000Z');
  });
});

describe('a local time in a FITS header', () => {
  it('beside UTC shows the zone, with its origin', () => {
    expect(fits({ ...base, 'DATE-LOC': '2026-11-26T00:30:00' }).utcOffsetMinutes).toEqual({ value: 60, from: 'FITS DATE-LOC less UTC' });
    expect(fits({ ...base, LOCALTIM: '16:30:00' }).utcOffsetMinutes?.value).toBe(-420);
    expect(fits({ ...base, 'DATE-LOC': '2026-11-25T23:30:00' }).utcOffsetMinutes?.value).toBe(0);
  });
  it('alone needs its zone, and asks for it', () => {
    const cards = { 'DATE-LOC': '2026-11-26T00:30:00', EXPTIME: 10 };
    expect(fits(cards).midExposure).toBeNull();
    expect(fits(cards).remarks[0]).toBe('FITS DATE-LOC was ignored: it is a local time, whose offset from UTC is unknown. Give its zone.');
    expect(fits(cards, 60).midExposure).toEqual({ value: new Date('2026-11-25T23:30:05Z'),
      from: 'FITS DATE-LOC and the zone given + half the exposure' });
  });
});

it('XPIXSZ that equals PIXSIZE1 in a binned picture is taken for the sensor\'s, and it is said', () => {
  const { pixelSizeMicrometres, remarks } = fits({ ...base, XPIXSZ: 3.8, PIXSIZE1: 3.8, XBINNING: 2 });
  expect(pixelSizeMicrometres).toEqual({ value: 7.6, from: 'FITS XPIXSZ × XBINNING' });
  expect(remarks).toEqual(['FITS XPIXSZ is the same as PIXSIZE1 though 2 pixels were binned, so it was taken for the sensor\'s own.']);
  expect(fits({ ...base, XPIXSZ: 3.8, PIXSIZE1: 3.8, XBINNING: 1 }).pixelSizeMicrometres?.from).toBe('FITS XPIXSZ');
});

describe('EXIF\'s satellite time', () => {
  // Exif 2.32, tables 7 and 15.
  const shot: Record<number, ExifValue> = { 0x9003: '2026:11:25 20:30:00', 0x829a: [[5, 1]] };
  const offset = (text: string): Record<number, ExifValue> => ({ 0x9011: text });
  const fix = (h: number, m: number, s: number, date?: string): Record<number, ExifValue> =>
    ({ 7: [[h, 1], [m, 1], [s, 1]], ...(date === undefined ? {} : { 29: date }) });
  const read = (photo: Record<number, ExifValue>, gps: Record<number, ExifValue>, given: number | null = null) =>
    exifMetadata(exifBytes({ ...shot, ...photo }, gps), given);

  it('that agrees raises no doubt, with and without its date', () => {
    expect(read(offset('+01:00'), fix(19, 30, 2, '2026:11:25'))).toMatchObject({ remarks: [] });
    expect(read(offset('+01:00'), fix(19, 29, 40)).clockDoubts).toBeUndefined();
    expect(read(offset('+01:00'), fix(19, 30, 2, '2026:11:25'))).toMatchObject({ utcOffsetMinutes: { value: 60,
      from: 'EXIF OffsetTimeOriginal' } });
  });
  it('names the offset where the camera gives none, and does not take it unasked', () => {
    const { midExposure, remarks } = read({}, fix(19, 30, 2, '2026:11:25'));
    expect(midExposure).toBeNull();
    expect(remarks[0]).toMatch(/Give the zone the camera clock was set to\. By its GPS time that is \+01:00\.$/);
    expect(read({}, fix(19, 30, 2)).remarks[0]).toMatch(/was set to\.$/);
  });
  it('an hour off is doubted: daylight saving, with the offset that would agree', () => {
    const { clockDoubts, midExposure } = read(offset('+02:00'), fix(19, 30, 2, '2026:11:25'));
    expect(clockDoubts).toEqual(['The camera clock is 1 h behind its GPS time (2026-11-25 19:30:02 UTC). Daylight saving or another '
      + 'zone does that: UTC+01:00 would agree.']);
    expect(midExposure?.value.toISOString()).toBe('2026-11-25T18:30:02.500Z');
    expect(read({}, fix(19, 30, 2, '2026:11:25'), 0).clockDoubts?.[0]).toMatch(/1 h ahead of .* UTC\+01:00 would agree/);
  });
  it('a day off is doubted', () => {
    expect(read(offset('+01:00'), fix(19, 30, 2, '2026:11:26')).clockDoubts?.[0]).toMatch(/24 h behind .* did not change at midnight/);
  });
  it('some minutes off may be an old fix: a remark, no doubt', () => {
    const { clockDoubts, remarks } = read(offset('+01:00'), fix(19, 25, 0, '2026:11:25'));
    expect(clockDoubts).toBeUndefined();
    expect(remarks).toEqual(['The camera clock is 5 min ahead of its GPS time (2026-11-25 19:25:00 UTC). The camera clock counts, since '
      + 'the fix may be old.']);
  });
  it('that is none is left aside', () => {
    expect(read(offset('+01:00'), fix(99, 0, 0, '2026:11:25'))).toMatchObject({ remarks: [] });
  });
  it('takes OffsetTime and DateTimeDigitized where the first choice is missing', () => {
    expect(read({ 0x9010: '+01:00' }, {}).midExposure?.from).toBe('EXIF DateTimeOriginal and OffsetTime + half the exposure');
    const digitized = exifMetadata(exifBytes({ 0x9004: '2026:11:25 20:30:00', 0x9012: '+01:00', 0x9292: '5', 0x829a: [[5, 1]] }), null);
    expect(digitized.midExposure).toEqual({ value: new Date('2026-11-25T19:30:03.000Z'),
      from: 'EXIF DateTimeDigitized and OffsetTimeDigitized + half the exposure' });
  });
});

it('differences are told in words, and zones by their quarters of an hour', () => {
  expect([40_000, 720_000, 3_600_000, 86_100_000].map(apartWords)).toEqual(['40 s', '12 min', '1 h', '23 h 55 min']);
  expect([330, -570, 0].map(offsetWords)).toEqual(['+05:30', '-09:30', '+00:00']);
  expect([zoneOf(3_600_000 + 90_000), zoneOf(37 * 60_000), zoneOf(15 * 3_600_000)]).toEqual([60, null, null]);
  expect(looksLike(300_000)).toBe('');
});
