/** An invented wide view with a lens that distorts, and its world coordinates as `inspect --wcs` writes them. */
import { fileURLToPath } from 'node:url';
import { writeFileSync } from 'node:fs';
import { headerBytes } from '../../src/frames/fitsHeader.js';
import { type Rotation, compose, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, cross, unit } from '../../src/geometry/vector.js';
import type { Lens } from '../../src/identify/lens.js';
import { worldCoordinates } from '../../src/identify/worldCoordinates.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { meanPole } from '../../src/sky/polarMotion.js';
import { makeSite } from '../../src/sky/site.js';

export const WIDTH = 1600;
export const HEIGHT = 1100;

export const VIEWS: readonly { name: string; lens: Lens }[] = [
  { name: 'wide', lens: { focalPixels: 2300, centreX: 806, centreY: 545, radial: [-0.09, 0.02], mirrored: true } },
  { name: 'guide', lens: { focalPixels: 42000, centreX: 799.5, centreY: 549.5, radial: [2], mirrored: false } },
];
const TIME = new Date('2026-11-25T20:00:00Z');
/** By the mean pole, whatever the program comes to expect of polar motion: astropy has read what was written with it. */
export const SKY = makeLocalSky(TIME, makeSite({ latitudeDeg: 31, longitudeDeg: -110, elevationMetres: 1500 }), meanPole(TIME));
export const POSE = lookAt(SKY.refractedPole(1));

export function cardsOf(lens: Lens): ReturnType<typeof worldCoordinates> {
  return worldCoordinates(WIDTH, HEIGHT, POSE, lens, SKY);
}

/** A camera that looks a degree beside the pole, rolled by a radian. */
function lookAt(pole: Vector): Rotation {
  const forward = unit([pole[0] + 0.012, pole[1], pole[2] - 0.012]);
  const right = unit(cross(forward, [0, 0, 1]));
  const down = cross(forward, right);
  return compose(rotationAbout(forward, 1), [right[0], down[0], forward[0], right[1], down[1], forward[1], right[2], down[2], forward[2]]);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  for (const { name, lens } of VIEWS) {
    const bytes = headerBytes([['SIMPLE', true, ''], ['BITPIX', 8, ''], ['NAXIS', 0, ''], ...cardsOf(lens)]);
    writeFileSync(new URL(`${name}.fits`, import.meta.url), bytes);
  }
}
