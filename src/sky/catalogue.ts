import { PolewardError } from '../error.js';
import { ARCSECOND } from '../geometry/angle.js';
import {
  BYTES_PER_STAR, COARSE, HEADER_BYTES, MAGIC, MAGNITUDE_ZERO, SOUTH, UNIT, VERSION,
} from './catalogue/format.js';

/** The stars near both poles, brightest first. */
export interface Catalogue {
  readonly count: number;
  /** 3·count: ICRS unit vectors at epoch J2000. */
  readonly directions: Float64Array;
  /** Ascending. Tycho-2's VT (0.06 fainter than Johnson V for a star of average colour), or V where `coarse` is 1. */
  readonly magnitudes: Float32Array;
  /** 1 = from the list of bright stars, whose positions are rounded to 0.0001°. */
  readonly coarse: Uint8Array;
  /** One-sigma error of each coordinate at J2000, radians. */
  readonly sigmas: Float32Array;
}

/**
 * Reads the embedded catalogue (`catalogue/stars.bin`, made by `.config/buildCatalogue.ts`).
 *
 * @param bytes the file as it is, at any alignment
 * @throws PolewardError `catalogue-broken` when it is not such a file or is damaged
 */
export function parseCatalogue(bytes: Uint8Array): Catalogue {
  if (bytes.byteLength < HEADER_BYTES || !startsWithMagic(bytes)) throw broken('does not begin as one');
  // Typed arrays need aligned bytes. They read them in the machine's order: little-endian wherever Node is at home, and
  // elsewhere the version comes out wrong.
  const { buffer, byteOffset } = bytes.byteOffset % 4 === 0 ? bytes : new Uint8Array(bytes);
  const [version, count = 0] = new Uint32Array(buffer, byteOffset + 8, 2);
  if (version !== VERSION) throw broken('is of another version');
  if (bytes.byteLength !== HEADER_BYTES + BYTES_PER_STAR * count) throw broken('has the wrong length');

  const columns = byteOffset + HEADER_BYTES;
  const xs = new Int32Array(buffer, columns, count);
  const ys = new Int32Array(buffer, columns + 4 * count, count);
  const thousandths = new Uint16Array(buffer, columns + 8 * count, count);
  const flags = new Uint8Array(buffer, columns + 10 * count, count);
  const hundredths = new Uint8Array(buffer, columns + 11 * count, count);
  const directions = new Float64Array(3 * count);
  const magnitudes = new Float32Array(count);
  const coarse = new Uint8Array(count);
  const sigmas = new Float32Array(count);
  let previous = 0;
  for (let i = 0; i < count; i++) {
    const x = xs[i]! / UNIT;
    const y = ys[i]! / UNIT;
    const zz = 1 - x * x - y * y;
    const magnitude = thousandths[i]!;
    if (!(zz > 0) || magnitude < previous) throw broken('holds impossible values');
    previous = magnitude;
    const flag = flags[i]!;
    directions[3 * i] = x;
    directions[3 * i + 1] = y;
    directions[3 * i + 2] = (flag & SOUTH) !== 0 ? -Math.sqrt(zz) : Math.sqrt(zz);
    magnitudes[i] = MAGNITUDE_ZERO + magnitude / 1000;
    coarse[i] = (flag & COARSE) !== 0 ? 1 : 0;
    sigmas[i] = (hundredths[i]! / 100) * ARCSECOND;
  }
  return { count, directions, magnitudes, coarse, sigmas };
}

/**
 * One-sigma error (radians) of a catalogue star in each coordinate, `yearsSince2000` Julian years after J2000 (negative: before). The
 * star's own proper motion is not in the catalogue, so the usual motion of stars of its magnitude is added to the error at J2000. The error
 * is the same in all frames of a night.
 */
export function catalogueSigma(catalogue: Catalogue, index: number, yearsSince2000: number): number {
  const motion = properMotionScatter(catalogue.magnitudes[index] ?? 0) * yearsSince2000;
  return Math.hypot(catalogue.sigmas[index] ?? 0, motion);
}

/**
 * Error of a Tycho-2 position at J2000, radians in each coordinate. Høg et al. 2000 (A&A 355, L27), abstract: positions
 * at the mean epoch 7 mas for VT < 9 and 60 mas for all stars, proper motions 2.5 mas a year. Their growth between
 * with magnitude is assumed log-linear (60 mas at VT 11.4, the median), to 100 mas at most; the mean epoch as 1991.25.
 */
export function tychoSigma(magnitude: number): number {
  const position = Math.min(0.100, 0.007 * Math.pow(60 / 7, Math.max(0, (magnitude - 9) / 2.4)));
  return Math.hypot(position, 0.0025 * 8.75) * ARCSECOND;
}

/**
 * Typical proper motion in each coordinate, radians a year: 30 mas at magnitude 6 and brighter, 8 mas at 11 and fainter, log-linear
 * between. An estimate, not a measurement: stars move at about 30 km/s in each coordinate relative to the Sun, and those of magnitude 6 are
 * typically at 200 pc, those of magnitude 11 at 800 pc. One star in several moves twice as fast or more: near stars make a long tail, which
 * a robust fit must tolerate.
 */
export function properMotionScatter(magnitude: number): number {
  const fraction = Math.min(1, Math.max(0, (magnitude - 6) / 5));
  return 0.030 * Math.pow(8 / 30, fraction) * ARCSECOND;
}

function startsWithMagic(bytes: Uint8Array): boolean {
  for (let i = 0; i < MAGIC.length; i++) if (bytes[i] !== MAGIC.charCodeAt(i)) return false;
  return true;
}

function broken(how: string): PolewardError {
  return new PolewardError('catalogue-broken', `The star catalogue ${how}. Install the program again.`);
}
