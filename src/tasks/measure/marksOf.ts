import { aimedError } from '../../axis/aim.js';
import { PolewardError } from '../../error.js';
import { fileName } from '../../fileName.js';
import { ARCMINUTE } from '../../geometry/angle.js';
import { type Vector, angleBetween } from '../../geometry/vector.js';
import { type FrameMarks, type SeenFrame, type SeenStar, type StarWish, frameMarks } from '../../picture/frameMarks.js';
import { dialTurn } from '../../picture/knobDial.js';
import { namedStar, nameOf } from '../../picture/namedStars.js';
import type { Catalogue } from '../../sky/catalogue.js';
import type { Guidance } from './guidance.js';
import type { Measured } from './measureFrames.js';

/** How far from a recognised star the given pixel may be. */
const PICKED = 30;
/** The catalogue's star of that name is within this of the name's rounded place. */
const NAMED = ARCMINUTE;
/** No star with a name here is fainter. */
const FAINTEST_NAMED = 7.5;

/** What can be drawn over the newest frame of an answer. Throws PolewardError `bad-option` for a star that can't be found. */
export function marksOf(measured: Measured, guidance: Guidance, catalogue: Catalogue, star?: string): FrameMarks {
  const { measurement, known, site } = measured;
  const newest = known.at(-1)!;
  const onAxis = measurement.frames.at(-1)!;
  const { frame, sky, identification } = newest;
  const seen: SeenFrame = {
    file: fileName(frame.file), width: frame.width, height: frame.height, firstRowBottom: frame.firstRowBottom,
    lens: measurement.lens, pose: onAxis.pose, sky,
    stars: identification.stars.map((s): SeenStar => ({
      x: s.detection.x, y: s.detection.y, magnitude: s.magnitude, direction: s.direction,
      name: s.magnitude < FAINTEST_NAMED ? nameOf(sky.fromLocal(s.direction)) : null,
    })),
  };
  const axis = {
    axis: measurement.axis, aim: measurement.aim, hemisphere: measurement.hemisphere,
    separationArcmin: aimedError(measurement).separation / ARCMINUTE, sigmaArcmin: measurement.sigma.separation / ARCMINUTE,
  };
  const dials = site ? guidance.advice.map((advice) => dialTurn(advice, guidance.rig, measurement.hemisphere)) : [];
  return frameMarks(seen, axis, dials, star === undefined ? null : wishFor(star, seen, catalogue));
}

function wishFor(words: string, frame: SeenFrame, catalogue: Catalogue): StarWish {
  const picked = /^\s*([\d.]+)\s*[,;]\s*([\d.]+)\s*$/.exec(words);
  if (picked) return { seen: nearest(frame, Number(picked[1]), Number(picked[2]), words) };
  const named = namedStar(words);
  if (!named) {
    throw new PolewardError('bad-option', `No star called "${words}" is known here. Write a name or Bayer letter ("Polaris", "sigma `
      + `Oct") or the pixel of a star in the frame ("512,384").`);
  }
  const seen = frame.stars.find((s) => s.name === named.name);
  return seen ? { seen } : { name: named.name, direction: frame.sky.toLocal(exactDirection(catalogue, named.direction)) };
}

function nearest(frame: SeenFrame, x: number, y: number, words: string): SeenStar {
  const away = (s: SeenStar): number => Math.hypot(s.x - x, s.y - y);
  const [best] = [...frame.stars].sort((a, b) => away(a) - away(b));
  if (!best || !(away(best) <= PICKED)) {
    throw new PolewardError('bad-option', `No recognised star is within ${PICKED} pixels of ${words} in ${frame.file}. Pixels count `
      + `from 0 at the first stored pixel; give another place or a star's name.`);
  }
  return best;
}

/** The catalogue's place of a named star, which is better than the name's; the name's where the catalogue has none there. */
function exactDirection(catalogue: Catalogue, rounded: Vector): Vector {
  // Brightest first: the first one in the circle is the star itself.
  for (let i = 0; i < catalogue.count && catalogue.magnitudes[i]! < FAINTEST_NAMED; i++) {
    const direction = directionOf(catalogue, i);
    if (angleBetween(direction, rounded) < NAMED) return direction;
  }
  return rounded;
}

function directionOf({ directions }: Catalogue, star: number): Vector {
  return [directions[3 * star]!, directions[3 * star + 1]!, directions[3 * star + 2]!];
}
