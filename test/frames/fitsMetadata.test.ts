import { describe, expect, it } from 'vitest';
import { parseCards } from '../../src/frames/fitsCard.js';
import { noMetadata } from '../../src/frames/exifMetadata.js';
import { fitsMetadata } from '../../src/frames/fitsMetadata.js';
import { card } from './fitsBytes.js';

type Cards = Record<string, string | number | boolean>;
/** Strings are quoted here. */
const read = (cards: Cards, utcOffsetMinutes: number | null = null) =>
  fitsMetadata(
    parseCards(Object.entries(cards).map(([key, value]) => card(key, typeof value === 'string' ? `'${value}'` : value))),
    utcOffsetMinutes,
  );
const time = (cards: Cards, offset: number | null = null) => {
  const { midExposure } = read(cards, offset);
  return midExposure && `${midExposure.value.toISOString()} ${midExposure.from}`;
};

describe('middle of the exposure from a FITS header', () => {
  it.each<[string, Cards, string]>([
    ['DATE-AVG as it is', { 'DATE-AVG': '2026-11-25T19:30:05', 'DATE-OBS': '2026-11-25T19:00:00', EXPTIME: 10 },
      '2026-11-25T19:30:05.000Z FITS DATE-AVG'],
    ['DATE-OBS and half the exposure', { 'DATE-OBS': '2026-11-25T19:30:00', EXPTIME: 5 },
      '2026-11-25T19:30:02.500Z FITS DATE-OBS + half the exposure'],
    ['a fraction of a second', { 'DATE-OBS': '2026-11-25T19:30:00.1234567', EXPTIME: 1 },
      '2026-11-25T19:30:00.623Z FITS DATE-OBS + half the exposure'],
    ['a Z', { 'DATE-OBS': '2026-11-25T19:30:00Z', EXPTIME: 0 }, '2026-11-25T19:30:00.000Z FITS DATE-OBS + half the exposure'],
    ['a zone in the text', { 'DATE-OBS': '2026-11-25T20:30:00+01:00', EXPTIME: 0 },
      '2026-11-25T19:30:00.000Z FITS DATE-OBS + half the exposure'],
    ['DATE-BEG', { 'DATE-BEG': '2026-11-25T19:30:00', EXPOSURE: 4 }, '2026-11-25T19:30:02.000Z FITS DATE-BEG + half the exposure'],
    ['DATE-END', { 'DATE-END': '2026-11-25T19:30:04', XPOSURE: 4 }, '2026-11-25T19:30:02.000Z FITS DATE-END - half the exposure'],
    ['a date and a time', { 'DATE-OBS': '2026-11-25', 'TIME-OBS': '19:30:00.5', EXPTIME: 1 },
      '2026-11-25T19:30:01.000Z FITS DATE-OBS and TIME-OBS + half the exposure'],
    ['the form used before 2000', { 'DATE-OBS': '25/11/98', UT: '19:30:00', EXPTIME: 2 },
      '1998-11-25T19:30:01.000Z FITS DATE-OBS and UT + half the exposure'],
    ['a leap second', { 'DATE-OBS': '2016-12-31T23:59:60.5', EXPTIME: 0 }, '2017-01-01T00:00:00.500Z FITS DATE-OBS + half the exposure'],
    ['MJD', { 'MJD-OBS': 61369.8125, EXPTIME: 4 }, '2026-11-25T19:30:02.000Z FITS MJD-OBS + half the exposure'],
    ['JD', { JD: 2461370.3125, EXPTIME: 4 }, '2026-11-25T19:30:02.000Z FITS JD + half the exposure'],
    ['the next keyword where the first is unusable', { 'DATE-AVG': 'soon', 'DATE-OBS': '2026-11-25T19:30:00', EXPTIME: 0 },
      '2026-11-25T19:30:00.000Z FITS DATE-OBS + half the exposure'],
    // FITS 4.0, table 30; 69.184 s = 37 + 32.184 s since 2017.
    ['terrestrial time', { 'DATE-OBS': '2026-11-25T19:31:09.184', TIMESYS: 'TT', EXPTIME: 2 },
      '2026-11-25T19:30:01.000Z FITS DATE-OBS (TT) + half the exposure'],
    ['atomic time', { 'DATE-OBS': '2026-11-25T19:30:37', TIMESYS: 'TAI', EXPTIME: 2 },
      '2026-11-25T19:30:01.000Z FITS DATE-OBS (TAI) + half the exposure'],
    ['GPS time', { 'DATE-OBS': '2026-11-25T19:30:18', TIMESYS: 'GPS', EXPTIME: 2 },
      '2026-11-25T19:30:01.000Z FITS DATE-OBS (GPS) + half the exposure'],
  ])('takes %s', (_, cards, expected) => {
    expect(time(cards)).toBe(expected);
  });

  it('is not shifted by an offset where the header is in UTC', () => {
    const cards = { 'DATE-OBS': '2026-11-25T19:30:00', EXPTIME: 0 };
    expect(time(cards, 60)).toBe(time(cards));
    expect(time({ ...cards, TIMESYS: 'UTC' }, 60)).toBe(time(cards));
  });
  it('needs an offset where TIMESYS is a local clock, and says so', () => {
    const cards = { 'DATE-OBS': '2026-11-25T20:30:00', TIMESYS: 'LOCAL', EXPTIME: 0 };
    expect(time(cards, 60)).toBe('2026-11-25T19:30:00.000Z FITS DATE-OBS and the zone given + half the exposure');
    expect(time(cards)).toBeNull();
    expect(read(cards).remarks).toEqual(['FITS DATE-OBS was ignored: TIMESYS is LOCAL, whose offset from UTC is unknown. Give its zone.']);
  });
  it('does not depend on the zone of the computer', () => {
    const before = process.env['TZ'];
    try {
      process.env['TZ'] = 'Pacific/Auckland';
      expect(new Date(2026, 0, 1).getTimezoneOffset()).toBe(-780);
      expect(time({ 'DATE-OBS': '2026-11-25T19:30:00', EXPTIME: 0 })).toMatch(/^2026-11-25T19:30:00.000Z/);
    } finally {
      if (before === undefined) delete process.env['TZ'];
      else process.env['TZ'] = before;
    }
  });
  it('is the given time, with a remark, where the exposure is unknown', () => {
    expect(time({ 'DATE-OBS': '2026-11-25T19:30:00' })).toBe('2026-11-25T19:30:00.000Z FITS DATE-OBS');
    expect(read({ 'DATE-OBS': '2026-11-25T19:30:00' }).remarks)
      .toEqual(['The exposure is unknown, so FITS DATE-OBS is taken as its middle.']);
  });
  it.each([
    '2026-02-30T00:00:00', '2026-13-01T00:00:00', '1899-01-01T00:00:00', '2200-01-01T00:00:00', '2026-11-25T24:00:00',
      '2026-11-25T19:60:00',
    '2026-11-25T19:30:61', '2026-11-25T19:30', '2026-11-25', '25.11.2026 19:30:00', '2026-11-25T19:30:00+15:00', 'T',
  ])('is unknown for "%s", with a remark', (text) => {
    const { midExposure, remarks } = read({ 'DATE-OBS': text, EXPTIME: 1 });
    expect(midExposure).toBeNull();
    expect(remarks[0]).toMatch(/^FITS DATE-OBS was ignored: ".*" is (not a date and time|a date without a time of day)\.$/);
    expect(remarks[1]).toMatch(/^The header gives no usable time/);
  });
  it('is unknown for a Julian date of another age', () => {
    expect(read({ JD: 61369.8 }).remarks[0]).toBe('FITS JD was ignored: 61369.8 is not a date from 1900 to 2199.');
  });
});

describe('exposure, optics and site from a FITS header', () => {
  it('are taken with the keyword they came from', () => {
    const metadata = read({
      'DATE-OBS': '2026-11-25T19:30:00', EXPTIME: 5, XPIXSZ: 5.8, XBINNING: 2, FOCALLEN: 150, SITELAT: '+39 12 00', SITELONG: '-3:24:00',
        SITEELEV: 710,
    });
    expect(metadata).toEqual({
      midExposure: { value: new Date('2026-11-25T19:30:02.500Z'), from: 'FITS DATE-OBS + half the exposure' },
      exposureSeconds: { value: 5, from: 'FITS EXPTIME' },
      pixelSizeMicrometres: { value: 5.8, from: 'FITS XPIXSZ' },
      binning: { value: 2, from: 'FITS XBINNING' },
      focalLengthMillimetres: { value: 150, from: 'FITS FOCALLEN' },
      latitudeDeg: { value: 39.2, from: 'FITS SITELAT' },
      longitudeDeg: { value: -3.4, from: 'FITS SITELONG' },
      elevationMetres: { value: 710, from: 'FITS SITEELEV' },
      remarks: [],
    });
  });
  it('leave XPIXSZ as it is, binning included, and multiply PIXSIZE1 by the binning', () => {
    expect(read({ XPIXSZ: 7.6, PIXSIZE1: 3.8, XBINNING: 2 }).pixelSizeMicrometres).toEqual({ value: 7.6, from: 'FITS XPIXSZ' });
    expect(read({ PIXSIZE1: 3.8, XBINNING: 2 }).pixelSizeMicrometres).toEqual({ value: 7.6, from: 'FITS PIXSIZE1 × XBINNING' });
    expect(read({ PIXSIZE1: 3.8 }).pixelSizeMicrometres).toEqual({ value: 3.8, from: 'FITS PIXSIZE1' });
  });
  it('read the binning of "2 2" and "3x3"', () => {
    expect(read({ CCDSUM: '2 2' }).binning).toEqual({ value: 2, from: 'FITS CCDSUM' });
    expect(read({ BINNING: '3x3' }).binning).toEqual({ value: 3, from: 'FITS BINNING' });
  });
  it('read numbers written as strings', () => {
    expect(read({ EXPTIME: '2.5' }).exposureSeconds?.value).toBe(2.5);
  });
  it('take the standard site keywords and longitudes counted to 360', () => {
    const { latitudeDeg, longitudeDeg, elevationMetres } = read({ 'OBSGEO-B': -33.5, 'OBSGEO-L': 289.25, 'OBSGEO-H': 2400 });
    expect([latitudeDeg?.value, longitudeDeg?.value, elevationMetres?.value]).toEqual([-33.5, -70.75, 2400]);
  });
  it('take a site of 0°, 0° and a focal length of 0 for not set', () => {
    const metadata = read({ SITELAT: 0, SITELONG: 0, SITEELEV: 0, FOCALLEN: 0 });
    expect([metadata.latitudeDeg, metadata.longitudeDeg, metadata.elevationMetres, metadata.focalLengthMillimetres])
      .toEqual([null, null, null, null]);
    expect(metadata.remarks).toContain('The site 0°, 0° was taken as not set.');
  });
  it.each<[string, string | number | boolean, string]>([
    ['EXPTIME', -5, 'FITS EXPTIME was ignored: "-5" is not between 0 and 86400.'],
    ['EXPTIME', 'long', 'FITS EXPTIME was ignored: "long" is not readable.'],
    ['EXPTIME', true, 'FITS EXPTIME was ignored: "true" is not readable.'],
    ['SITELAT', 91, 'FITS SITELAT was ignored: "91" is not between -90 and 90.'],
    ['SITELAT', '39 60 00', 'FITS SITELAT was ignored: "39 60 00" is not readable.'],
    ['SITELONG', -181, 'FITS SITELONG was ignored: "-181" is not between -180 and 360.'],
    ['SITEELEV', 1e6, 'FITS SITEELEV was ignored: "1000000" is not between -450 and 9000.'],
    ['XPIXSZ', 0, 'FITS XPIXSZ was ignored: "0" is not between 0.1 and 1000.'],
    ['FOCALLEN', -1, 'FITS FOCALLEN was ignored: "-1" is not between 1 and 100000.'],
  ])('leave out %s = %s with a remark', (keyword, value, remark) => {
    const metadata = read({ [keyword]: value, 'DATE-AVG': '2026-11-25T19:30:00' });
    expect(metadata.remarks).toEqual([remark]);
    expect(metadata).toEqual({ ...noMetadata([remark]), midExposure: { value: new Date('2026-11-25T19:30:00Z'), from: 'FITS DATE-AVG' } });
  });
  it('take the next keyword where one is nonsense', () => {
    expect(read({ EXPTIME: -1, EXPOSURE: 3 }).exposureSeconds).toEqual({ value: 3, from: 'FITS EXPOSURE' });
  });
});
