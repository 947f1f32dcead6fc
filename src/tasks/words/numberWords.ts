import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';

/** Decimals that an error of this size (same unit) lets a number deserve, 0 to `most`. */
export function decimals(sigma: number, most: number): number {
  if (!(sigma > 0)) return most;
  return Math.min(most, Math.max(0, Math.ceil(-Math.log10(sigma * 2))));
}

/** An angle (radians) in arcminutes, from 2° on in degrees, with as many digits as its sigma (radians) allows: "22.04′". */
export function arcminutes(angle: number, sigma: number): string {
  if (Math.abs(angle) >= 2 * DEGREE) return `${(angle / DEGREE).toFixed(decimals(sigma / DEGREE, 2))}°`;
  return `${(angle / ARCMINUTE).toFixed(decimals(sigma / ARCMINUTE, 2))}′`;
}

/** A one-sigma error (radians): "± 0.6′", below a tenth of an arcminute in arcseconds: "± 0.4″". */
export function plusMinus(sigma: number): string {
  const arcmin = sigma / ARCMINUTE;
  if (arcmin >= 9.95) return `± ${arcmin.toFixed(0)}′`;
  if (arcmin >= 0.0995) return `± ${arcmin.toFixed(1)}′`;
  const arcsec = arcmin * 60;
  return `± ${arcsec.toFixed(1)}″`;
}

/** With a sign that stands out: "+13.0′", "−22.0′". */
export function signed(text: string): string {
  // Rounding leaves "-0.0" of a small negative number.
  return text.startsWith('-') && /[1-9]/.test(text) ? `−${text.slice(1)}` : `+${text.replace('-', '')}`;
}

/** Breaks text into lines of at most `width` columns, later lines indented. */
export function wrap(text: string, width = 60, indent = ''): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
    const next = line === '' ? word : `${line} ${word}`;
    if (next.length > width && line.trim() !== '') {
      lines.push(line);
      line = indent + word;
    } else {
      line = next;
    }
  }
  if (line) lines.push(line);
  return lines.join('\n');
}
