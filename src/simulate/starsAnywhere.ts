import { DEGREE } from '../geometry/angle.js';
import { type Vector, cross, unit } from '../geometry/vector.js';
import { cellsAround } from '../sky/catalogue/cells.js';
import type { SkyCatalogue } from '../sky/catalogueSky.js';
import type { NightPlan } from './nightPlan.js';
import type { Random } from './random.js';
import { type Cap, type TrueStars, displace, growingStars, heavyTailed, starsPerSquareDegree } from './trueStars.js';

/** The limits of the whole sky's catalogue and of that near a pole, magnitudes. */
const ENDS = 11;
const ENDS_AT_POLE = 12;
const AT_POLE = Math.cos(12 * DEGREE);

/**
 * Stars at least as bright as `faintest` within some caps, anywhere: those of the whole sky's catalogue with their motion since 2000, and
 * below its limit as many more as its counts suggest.
 */
export function starsAnywhere(plan: NightPlan, sky: SkyCatalogue, caps: readonly Cap[], faintest: number, random: Random): TrueStars {
  const years = (plan.startUtc.getTime() - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86_400_000);
  const stars = growingStars();
  const cells = [...new Set(caps.flatMap(({ centre, radius }) => [...cellsAround(centre, radius)]))].sort((a, b) => a - b);
  // Colours make few stars brighter by more than four sigma.
  const listed = sky.collect(cells, faintest + 4 * plan.magnitudeScatter, years);
  const moves = random.stream('moves');
  for (let n = 0; n < listed.count; n++) {
    const place: Vector = [listed.directions[3 * n]!, listed.directions[3 * n + 1]!, listed.directions[3 * n + 2]!];
    if (!isIn(caps, place)) continue;
    const [number, told] = [listed.numbers[n]!, listed.magnitudes[n]!];
    const magnitude = told + plan.magnitudeScatter * moves.normal();
    const sigma = plan.motionScale * sky.sigma(number, told, years);
    const moved = displace(place, sigma * heavyTailed(moves), sigma * heavyTailed(moves));
    if (magnitude <= faintest) stars.add(moved, magnitude, number);
  }
  if (plan.uncataloguedDensity > 0 && faintest > ENDS) {
    for (const [place, cap] of caps.entries()) {
      invent(plan, caps.slice(0, place), cap, faintest, random.stream(`uncatalogued ${place}`), stars.add);
    }
  }
  return stars.made();
}

function isIn(caps: readonly Cap[], [x, y, z]: Vector): boolean {
  return caps.some(({ centre, radius }) => x * centre[0] + y * centre[1] + z * centre[2] >= Math.cos(radius));
}

/** Adds stars below the catalogue's limit, uniformly over a cap, except within the caps `before` it. */
function invent(
  plan: NightPlan, before: readonly Cap[], { centre, radius }: Cap, faintest: number, random: Random,
  add: (direction: Vector, magnitude: number, number: number) => void,
): void {
  const squareDegrees = (2 * Math.PI * (1 - Math.cos(radius))) / DEGREE ** 2;
  const east = unit(cross(Math.abs(centre[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0], centre));
  const north = cross(centre, east);
  const below = starsPerSquareDegree(ENDS);
  const between = starsPerSquareDegree(faintest) - below;
  const count = random.poisson(squareDegrees * between * plan.uncataloguedDensity);
  for (let i = 0; i < count; i++) {
    const magnitude = 11.5 + 2.5 * Math.log10((below + random.uniform() * between) / 28);
    const c = 1 - random.uniform() * (1 - Math.cos(radius));
    const s = Math.sqrt(Math.max(0, 1 - c * c));
    const turn = 2 * Math.PI * random.uniform();
    const [e, n] = [s * Math.cos(turn), s * Math.sin(turn)];
    const direction: Vector = [0, 1, 2].map((k) => c * centre[k]! + e * east[k]! + n * north[k]!) as unknown as Vector;
    const ends = Math.abs(direction[2]) > AT_POLE ? ENDS_AT_POLE : ENDS;
    if (magnitude > ends && !isIn(before, direction)) add(direction, magnitude, -1);
  }
}
