import { type Card, FITS_BLOCK, headerBytes } from '../frames/fitsHeader.js';
import type { Image } from '../frames/frame.js';
import { DEGREE } from '../geometry/angle.js';
import type { NightPlan } from './nightPlan.js';

/**
 * A picture as a FITS file: one primary array of 16-bit unsigned integers, stored signed with BZERO 32768, as usual. Source: FITS Standard
 * 4.0 (2018), sections 3.3, 4.2, 4.4.1 and 5.2.5.
 *
 * @param image values 0 to 65535, whole numbers
 * @param cards header cards; keywords of up to 8 of A-Z, 0-9, - and _, texts in ASCII
 */
export function fitsFile(image: Image, cards: readonly Card[]): Uint8Array {
  const header = headerBytes([
    ['SIMPLE', true, 'conforms to FITS standard'],
    ['BITPIX', 16, 'bits of each stored pixel'],
    ['NAXIS', 2],
    ['NAXIS1', image.width],
    ['NAXIS2', image.height],
    ['BSCALE', 1],
    ['BZERO', 32768, 'unsigned integers'],
    ...cards,
  ]);
  const count = image.width * image.height;
  const bytes = new Uint8Array(header.length + Math.ceil((2 * count) / FITS_BLOCK) * FITS_BLOCK);
  bytes.set(header);
  for (let i = 0, at = header.length; i < count; i++, at += 2) {
    const value = image.data[i]!;
    // High byte first; subtracting 32768 flips its top bit.
    bytes[at] = (value >> 8) ^ 0x80;
    bytes[at + 1] = value & 0xff;
  }
  return bytes;
}

/** What capture software commonly writes, for a frame that starts at `startUtc`. */
export function frameCards(plan: NightPlan, startUtc: Date): Card[] {
  const round = (value: number): number => Number(value.toFixed(6));
  return [
    ['DATE-OBS', startUtc.toISOString().replace('Z', ''), 'start of the exposure'],
    ['TIMESYS', 'UTC'],
    ['EXPTIME', plan.exposureSeconds, '[s]'],
    ['XPIXSZ', plan.pixelSizeMicrometres, '[um]'],
    ['YPIXSZ', plan.pixelSizeMicrometres, '[um]'],
    ['FOCALLEN', plan.focalLengthMillimetres, '[mm]'],
    ['SITELAT', round(plan.site.latitude / DEGREE), '[deg] north positive'],
    ['SITELONG', round(plan.site.longitude / DEGREE), '[deg] east positive'],
    ['SITEELEV', plan.site.elevationMetres, '[m]'],
    ['EGAIN', plan.electronsPerAdu, '[electron] for one step of the values'],
    ['OBJECT', 'simulated', 'no camera took this'],
  ];
}
