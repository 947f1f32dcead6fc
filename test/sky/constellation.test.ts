import { expect, test } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { fromSpherical } from '../../src/geometry/vector.js';
import { constellationOf } from '../../src/sky/constellation.js';

// Stars by the constellation in their Bayer letter; places from src/picture/namedStars.ts and, Betelgeuse and Altair, from memory.
test.each([
  ['Deneb', 310.358, 45.2803, 'Cygnus'], ['Polaris', 37.9545, 89.2641, 'Ursa Minor'], ['Achernar', 24.4285, -57.2368, 'Eridanus'],
  ['Peacock', 306.4119, -56.7351, 'Pavo'], ['Betelgeuse', 88.793, 7.407, 'Orion'], ['Altair', 297.696, 8.868, 'Aquila'],
  ['Alnair', 332.0583, -46.961, 'Grus'], ['Mizar', 200.9814, 54.9254, 'Ursa Major'],
])('%s is in its constellation', (_, raDeg, decDeg, name) => {
  expect(constellationOf(fromSpherical(raDeg * DEGREE, decDeg * DEGREE))).toBe(name);
});
