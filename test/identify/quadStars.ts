import { type QuadStars, type QuadsWanted, chooseQuadStars } from '../../src/identify/skyQuads.js';
import { sphereAngles } from '../../src/identify/sphereGrid.js';
import { atOnce } from '../../src/numeric/steps.js';
import type { SkyStars } from '../../src/sky/catalogueSky.js';

/** The stars of a sky that fields of that width (radians) show best. */
export function quadStars(stars: SkyStars, fieldWidth: number, wanted: QuadsWanted): QuadStars {
  return atOnce(chooseQuadStars(stars, sphereAngles(stars.directions, stars.count), fieldWidth, wanted));
}
