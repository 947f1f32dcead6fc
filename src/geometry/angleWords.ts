import { ARCMINUTE, DEGREE } from './angle.js';

/** Number of decimals that are meaningful with an error of this size (same unit), 0 to `most`. */
export function decimals(sigma: number, most: number): number {
  if (!(sigma > 0)) return most;
  return Math.min(most, Math.max(0, Math.ceil(-Math.log10(sigma * 2))));
}

/** An angle (radians) in arcminutes, from 2° on in degrees, with as many digits as its sigma (radians) allows: "22.04′". */
export function angleWords(angle: number, sigma: number): string {
  if (Math.abs(angle) >= 2 * DEGREE) return `${(angle / DEGREE).toFixed(decimals(sigma / DEGREE, 2))}°`;
  return `${(angle / ARCMINUTE).toFixed(decimals(sigma / ARCMINUTE, 2))}′`;
}

/** A one-sigma error (radians): "0.6′", below a tenth of an arcminute in arcseconds: "0.4″". */
export function uncertainty(sigma: number): string {
  const arcmin = sigma / ARCMINUTE;
  if (arcmin >= 9.95) return `${arcmin.toFixed(0)}′`;
  return arcmin >= 0.0995 ? `${arcmin.toFixed(1)}′` : `${(arcmin * 60).toFixed(1)}″`;
}

/** The same with its sign: "± 0.6′". */
export function plusMinus(sigma: number): string {
  return `± ${uncertainty(sigma)}`;
}
