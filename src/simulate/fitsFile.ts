import type { Image } from '../frames/frame.js';
import { DEGREE } from '../geometry/angle.js';
import type { NightPlan } from './nightPlan.js';

/** A FITS card: keyword, value, comment. */
export type Card = readonly [keyword: string, value: string | number | boolean, comment?: string];

const BLOCK = 2880;

/**
 * A picture as a FITS file: one primary array of 16-bit unsigned integers, stored signed with BZERO 32768, as is usual.
 * Source: FITS Standard 4.0 (2018), sections 3.3, 4.2, 4.4.1 and 5.2.5.
 *
 * @param image values 0 to 65535, whole numbers
 * @param cards what to say about it; keywords of up to 8 of A-Z, 0-9, - and _, texts in ASCII
 */
export function fitsFile(image: Image, cards: readonly Card[]): Uint8Array {
  const header = [
    formatCard('SIMPLE', true, 'conforms to FITS standard'),
    formatCard('BITPIX', 16, 'bits of each stored pixel'),
    formatCard('NAXIS', 2),
    formatCard('NAXIS1', image.width),
    formatCard('NAXIS2', image.height),
    formatCard('BSCALE', 1),
    formatCard('BZERO', 32768, 'unsigned integers'),
    ...cards.map(([keyword, value, comment]) => formatCard(keyword, value, comment)),
    'END'.padEnd(80),
  ].join('');
  const headerBytes = Math.ceil(header.length / BLOCK) * BLOCK;
  const count = image.width * image.height;
  const bytes = new Uint8Array(headerBytes + Math.ceil((2 * count) / BLOCK) * BLOCK);
  bytes.fill(0x20, 0, headerBytes);
  for (let i = 0; i < header.length; i++) bytes[i] = header.charCodeAt(i);
  for (let i = 0, at = headerBytes; i < count; i++, at += 2) {
    const value = image.data[i]!;
    // High byte first; subtracting 32768 flips its top bit.
    bytes[at] = (value >> 8) ^ 0x80;
    bytes[at + 1] = value & 0xff;
  }
  return bytes;
}

/** What capture software commonly writes, of a frame that starts at `startUtc`. */
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

/** One card of 80 characters in fixed format; a comment that finds no room is cut. */
function formatCard(keyword: string, value: string | number | boolean, comment?: string): string {
  let text: string;
  if (typeof value === 'boolean') text = (value ? 'T' : 'F').padStart(20);
  else if (typeof value === 'number') text = formatNumber(value).padStart(20);
  else text = `'${value.replaceAll("'", "''").padEnd(8)}'`.padEnd(20);
  const card = `${keyword.padEnd(8)}= ${text}${comment ? ` / ${comment}` : ''}`;
  return card.slice(0, 80).padEnd(80);
}

function formatNumber(value: number): string {
  if (Number.isInteger(value) && Math.abs(value) < 1e15) return String(value);
  // JavaScript's shortest form, with the exponent in upper case, is a FITS real.
  const text = String(value).toUpperCase();
  return text.includes('.') || !text.includes('E') ? text : text.replace('E', '.0E');
}
