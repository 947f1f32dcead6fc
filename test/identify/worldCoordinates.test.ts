/** World coordinates against astropy's WCS, which reads the header our code writes (testdata/wcs). */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { apply, inverse } from '../../src/geometry/rotation.js';
import { fromSpherical } from '../../src/geometry/vector.js';
import { toPixel } from '../../src/identify/lens.js';
import { POSE, SKY, VIEWS, cardsOf } from '../../testdata/wcs/view.js';

const file = (name: string): Buffer => readFileSync(new URL(`../../testdata/wcs/${name}`, import.meta.url));

describe.each(VIEWS)('the header of a $name view', ({ name, lens }) => {
  test('is the one astropy read', () => {
    const text = file(`${name}.fits`).toString('latin1');
    for (const [keyword, value] of cardsOf(lens)) {
      const card = new RegExp(`${keyword.padEnd(8)}= +'?([^'/ ]+)`).exec(text)?.[1] ?? '';
      if (typeof value === 'string') expect(card).toBe(value);
      // The highest distortion terms are the noise of the fit: a millionth of a pixel at the corner is enough.
      else expect(Math.abs(Number(card) - value) * 1000 ** degree(keyword)).toBeLessThan(1e-5 + 1e-9 * Math.abs(value));
    }
  });

  test('puts stars within 0.1 px of where our own pose and lens put them', () => {
    const { rows } = JSON.parse(file(`${name}.json`).toString()) as { rows: [number, number, number, number][] };
    expect(rows).toHaveLength(165);
    const off = rows.map(([raDeg, decDeg, x, y]) => {
      const local = SKY.toLocal(fromSpherical(raDeg * DEGREE, decDeg * DEGREE));
      const p = toPixel(lens, apply(inverse(POSE), local))!;
      return Math.hypot(p.x - x, p.y - y);
    });
    expect(Math.max(...off)).toBeLessThan(0.1);
  });
});

/** Sum of the powers of a distortion term A_p_q or B_p_q. */
function degree(keyword: string): number {
  const match = /^[AB]_(\d)_(\d)$/.exec(keyword);
  return match ? Number(match[1]) + Number(match[2]) : 0;
}
