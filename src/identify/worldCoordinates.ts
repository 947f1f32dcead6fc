import { Matrix, solve } from 'ml-matrix';
import { DEGREE, wrapPositive } from '../geometry/angle.js';
import { type Rotation, apply } from '../geometry/rotation.js';
import { type Vector, cross, dot, toSpherical, unit } from '../geometry/vector.js';
import type { LocalSky } from '../sky/localSky.js';
import { type Lens, toDirection } from './lens.js';

/** A FITS keyword and its value. */
export type WcsCard = readonly [keyword: string, value: string | number, comment: string];

const ORDER = 7;
const GRID = 32;

/**
 * World coordinates (ICRS) of a frame as FITS keywords: gnomonic projection (Greisen & Calabretta 2002, A&A 395, 1061 and
 * 1077) with distortion polynomials of order 7 in pixels (Shupe et al. 2005, ASP Conf. 347, 491, the "SIP" convention).
 * The polynomials hold the lens and also what aberration and refraction bend within the field. FITS pixels count from 1.
 */
export function worldCoordinates(width: number, height: number, pose: Rotation, lens: Lens, sky: LocalSky): WcsCard[] {
  const icrs = (x: number, y: number): Vector => unit(sky.fromLocal(apply(pose, toDirection(lens, x, y))));
  const middle = { x: lens.centreX, y: lens.centreY };
  const reference = icrs(middle.x, middle.y);
  const { longitude, latitude } = toSpherical(reference);
  const east = unit(cross([0, 0, 1], reference));
  const north = cross(reference, east);

  // Tangent-plane degrees of a grid of pixels, and the polynomial in the pixel offsets (scaled to ±1) that gives them.
  const scale = Math.max(width, height) / 2;
  const powers = termsUpTo(ORDER);
  const rows: number[][] = [];
  const xi: number[][] = [];
  const eta: number[][] = [];
  for (let i = 0; i <= GRID; i++) {
    for (let k = 0; k <= GRID; k++) {
      const x = (i / GRID) * (width - 1);
      const y = (k / GRID) * (height - 1);
      const d = icrs(x, y);
      const depth = dot(d, reference);
      if (depth <= 0.05) continue;
      const u = (x - middle.x) / scale;
      const v = (y - middle.y) / scale;
      rows.push(powers.map(([p, q]) => u ** p * v ** q));
      xi.push([dot(d, east) / depth / DEGREE]);
      eta.push([dot(d, north) / depth / DEGREE]);
    }
  }
  const design = new Matrix(rows);
  const a = solve(design, new Matrix(xi), true).to1DArray();
  const b = solve(design, new Matrix(eta), true).to1DArray();

  const at = (p: number, q: number): number => powers.findIndex(([m, n]) => m === p && n === q);
  const perPixel = (coefficients: number[], p: number, q: number): number => coefficients[at(p, q)]! / scale ** (p + q);
  const cd: [number, number, number, number] = [perPixel(a, 1, 0), perPixel(a, 0, 1), perPixel(b, 1, 0), perPixel(b, 0, 1)];
  const determinant = cd[0] * cd[3] - cd[1] * cd[2];
  // The distortion is wanted in pixels, before the matrix: divide it out.
  const cards: WcsCard[] = [
    ['WCSAXES', 2, 'right ascension and declination'],
    ['CTYPE1', 'RA---TAN-SIP', 'gnomonic, distortion polynomials'],
    ['CTYPE2', 'DEC--TAN-SIP', 'gnomonic, distortion polynomials'],
    ['CUNIT1', 'deg', ''],
    ['CUNIT2', 'deg', ''],
    ['CRVAL1', wrapPositive(longitude) / DEGREE, '[deg] right ascension at the reference pixel'],
    ['CRVAL2', latitude / DEGREE, '[deg] declination at the reference pixel'],
    ['CRPIX1', middle.x + 1, 'reference pixel, counted from 1'],
    ['CRPIX2', middle.y + 1, 'reference pixel, counted from 1'],
    ['CD1_1', cd[0], '[deg] per pixel'],
    ['CD1_2', cd[1], '[deg] per pixel'],
    ['CD2_1', cd[2], '[deg] per pixel'],
    ['CD2_2', cd[3], '[deg] per pixel'],
    ['RADESYS', 'ICRS', ''],
    ['A_ORDER', ORDER, ''],
    ['B_ORDER', ORDER, ''],
  ];
  for (const [p, q] of powers) {
    if (p + q < 2) continue;
    const x = perPixel(a, p, q);
    const y = perPixel(b, p, q);
    cards.push([`A_${p}_${q}`, (cd[3] * x - cd[1] * y) / determinant, '']);
    cards.push([`B_${p}_${q}`, (cd[0] * y - cd[2] * x) / determinant, '']);
  }
  return cards;
}

function termsUpTo(order: number): [number, number][] {
  const terms: [number, number][] = [];
  for (let sum = 0; sum <= order; sum++) for (let p = sum; p >= 0; p--) terms.push([p, sum - p]);
  return terms;
}
