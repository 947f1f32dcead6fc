import { describe, expect, it } from 'vitest';
import { decodeFits } from '../../src/frames/decodeFits.js';
import { fitsMetadata } from '../../src/frames/fitsMetadata.js';
import { nodeDecoders } from '../../src/node/decoders.js';
import { makeSite } from '../../src/sky/site.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';

describe('fitsFile', () => {
  const image = { width: 3, height: 2, data: Uint16Array.of(0, 1, 255, 256, 32768, 65535), ceiling: 65535 };

  it('fills whole blocks of 2880 bytes', () => {
    expect(fitsFile(image, []).length).toBe(2 * 2880);
    expect(fitsFile({ ...image, width: 1440, height: 1, data: new Uint16Array(1440) }, []).length).toBe(2 * 2880);
    expect(fitsFile({ ...image, width: 1441, height: 1, data: new Uint16Array(1441) }, []).length).toBe(3 * 2880);
  });

  it('stores pixels that come back as they were, 0 and 65535 included', async () => {
    const decoded = await decodeFits(fitsFile(image, []), 'made', nodeDecoders.gunzip);
    expect(decoded.image.width).toBe(3);
    expect(decoded.image.height).toBe(2);
    expect(Array.from(decoded.image.data)).toEqual([0, 1, 255, 256, 32768, 65535]);
  });

  it('writes cards that come back as they were: quotes, slashes, small and large numbers', async () => {
    const { headers } = await decodeFits(fitsFile(image, [
      ['OBSERVER', "O'Hara / son"], ['SMALL', 1e-10], ['LARGE', 1.5e20], ['NEGATIVE', -36.9, 'with comment'], ['FLAG', false],
    ]), 'made', nodeDecoders.gunzip);
    expect(headers.get('OBSERVER')).toBe("O'Hara / son");
    expect(headers.get('SMALL')).toBe(1e-10);
    expect(headers.get('LARGE')).toBe(1.5e20);
    expect(headers.get('NEGATIVE')).toBe(-36.9);
    expect(headers.get('FLAG')).toBe(false);
  });

  it('says of a frame what the reader needs: time to the millisecond, optics, site', async () => {
    const site = makeSite({ latitudeDeg: -36.9012, longitudeDeg: 174.7, elevationMetres: 60 });
    const plan = { ...ordinaryNight(site, new Date('2026-11-25T20:00:00Z')), exposureSeconds: 2.5 };
    const bytes = fitsFile(image, frameCards(plan, new Date('2026-11-25T20:00:01.234Z')));
    const { headers } = await decodeFits(bytes, 'made', nodeDecoders.gunzip);
    const metadata = fitsMetadata(headers, null);
    expect(metadata.midExposure?.value.toISOString()).toBe('2026-11-25T20:00:02.484Z');
    expect(metadata.exposureSeconds?.value).toBe(2.5);
    expect(metadata.focalLengthMillimetres?.value).toBe(180);
    expect(metadata.pixelSizeMicrometres?.value).toBe(4.8);
    expect(metadata.latitudeDeg?.value).toBe(-36.9012);
    expect(metadata.longitudeDeg?.value).toBe(174.7);
    expect(metadata.elevationMetres?.value).toBe(60);
    expect(metadata.remarks).toEqual([]);
  });
});
