import { describe, expect, it } from 'vitest';
import { rawMetadata } from '../../src/frames/rawMetadata.js';

const clockMs = Date.UTC(2026, 10, 25, 20, 30, 0);
const about = { width: 6000, height: 4000, clockMs, exposureSeconds: 30, focalLengthMillimetres: 135 };

describe('what LibRaw says of a raw file whose tags can\'t be read', () => {
  it('has its time by the offset that is given', () => {
    expect(rawMetadata(about, 60)).toMatchObject({
      midExposure: { value: new Date('2026-11-25T19:30:15Z'), from: 'raw file time and the zone given + half the exposure' },
      exposureSeconds: { value: 30, from: 'raw file exposure time' },
      focalLengthMillimetres: { value: 135, from: 'raw file focal length' },
      remarks: [],
    });
    expect(rawMetadata({ ...about, exposureSeconds: null }, -330).midExposure)
      .toEqual({ value: new Date('2026-11-26T02:00:00Z'), from: 'raw file time and the zone given' });
  });
  it('has no time without an offset, and says what to give', () => {
    const { midExposure, remarks } = rawMetadata(about, null);
    expect(midExposure).toBeNull();
    expect(remarks).toEqual(['Its time was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.']);
  });
  it('may be nothing at all', () => {
    expect(rawMetadata({ ...about, clockMs: null, exposureSeconds: null, focalLengthMillimetres: null }, 60)).toMatchObject({
      midExposure: null, exposureSeconds: null, focalLengthMillimetres: null, remarks: ['It gives no time.'],
    });
  });
});
