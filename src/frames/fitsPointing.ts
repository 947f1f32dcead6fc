import type { FitsHeaders } from './fitsCard.js';
import { parseDegrees } from './sexagesimal.js';

/** Where a frame says it points. Degrees. */
export interface Pointing {
  readonly raDeg: number;
  readonly decDeg: number;
  /** The keywords that give it. */
  readonly from: string;
  /**
   * How the picture lies on the sky, from world coordinates (FITS: Greisen & Calabretta 2002, A&A 395, 1061): the place above is then that
   * of the reference pixel (0-based), and the matrix takes pixel offsets to degrees east and north on the tangent plane. Null without world
   * coordinates.
   */
  readonly world: {
    readonly x: number;
    readonly y: number;
    readonly matrix: readonly [eastX: number, eastY: number, northX: number, northY: number];
  } | null;
}

/**
 * Where a FITS header says the frame points: world coordinates (CRVAL, CRPIX and CD, or PC and CDELT, or CDELT and CROTA2), else
 * OBJCTRA and OBJCTDEC (hours and degrees as text), else RA and DEC (degrees as numbers; texts are hours and degrees): common practice.
 * Null where it says nothing usable.
 */
export function fitsPointing(headers: FitsHeaders): Pointing | null {
  return worldPointing(headers) ?? named(headers, 'OBJCTRA', 'OBJCTDEC') ?? named(headers, 'RA', 'DEC');
}

function named(headers: FitsHeaders, raKey: string, decKey: string): Pointing | null {
  const ra = headers.get(raKey), dec = headers.get(decKey);
  if (!(typeof ra === 'number' || typeof ra === 'string') || !(typeof dec === 'number' || typeof dec === 'string')) return null;
  const plain = typeof ra === 'number' || (raKey === 'RA' && /^[\d.]+$/.test(ra.trim()));
  const raDeg = plain ? Number(ra) : 15 * parseDegrees(String(ra).replace(/h/i, ':'));
  const decDeg = parseDegrees(typeof dec === 'string' && /^[+-]?[\d.]+$/.test(dec.trim()) ? Number(dec) : dec);
  return plausible(raDeg, decDeg) ? { raDeg, decDeg, from: `FITS ${raKey}, ${decKey}`, world: null } : null;
}

function plausible(raDeg: number, decDeg: number): boolean {
  // 0, 0 stands for "not set" (common practice).
  return raDeg >= 0 && raDeg <= 360 && Math.abs(decDeg) <= 90 && !(raDeg === 0 && decDeg === 0);
}

function worldPointing(headers: FitsHeaders): Pointing | null {
  const number = (key: string): number => {
    const value = headers.get(key);
    return typeof value === 'number' ? value : NaN;
  };
  if (!String(headers.get('CTYPE1') ?? '').startsWith('RA--') || !String(headers.get('CTYPE2') ?? '').startsWith('DEC-')) return null;
  const raDeg = number('CRVAL1'), decDeg = number('CRVAL2');
  const x = number('CRPIX1') - 1, y = number('CRPIX2') - 1;
  const matrix = matrixOf(number);
  if (!plausible(raDeg, decDeg) || !matrix || !Number.isFinite(x + y)) return null;
  return { raDeg, decDeg, from: 'world coordinates in the header', world: { x, y, matrix } };
}

function matrixOf(number: (key: string) => number): [number, number, number, number] | null {
  const or = (value: number, instead: number): number => (Number.isFinite(value) ? value : instead);
  let matrix: [number, number, number, number];
  if (Number.isFinite(number('CD1_1')) || Number.isFinite(number('CD1_2'))) {
    matrix = [or(number('CD1_1'), 0), or(number('CD1_2'), 0), or(number('CD2_1'), 0), or(number('CD2_2'), 0)];
  } else {
    const dx = number('CDELT1'), dy = number('CDELT2');
    if (Number.isFinite(number('PC1_1')) || Number.isFinite(number('PC1_2'))) {
      matrix = [dx * or(number('PC1_1'), 1), dx * or(number('PC1_2'), 0), dy * or(number('PC2_1'), 0), dy * or(number('PC2_2'), 1)];
    } else {
      // The older keywords: rotation of the axes by CROTA2.
      const turn = (or(number('CROTA2'), 0) * Math.PI) / 180;
      matrix = [dx * Math.cos(turn), -dy * Math.sin(turn), dx * Math.sin(turn), dy * Math.cos(turn)];
    }
  }
  const size = Math.abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]);
  return size > 1e-12 && size < 1 ? matrix : null;
}
