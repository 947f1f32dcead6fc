import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Vector, cross, unit } from '../geometry/vector.js';
import type { Catalogue } from '../sky/catalogue.js';
import type { NightPlan } from './nightPlan.js';
import type { Random } from './random.js';

/** The true stars of the night: catalogue stars with their motion since 2000, and stars in no catalogue. */
export interface TrueStars {
  readonly count: number;
  /** 3·count: directions of the night, ICRS axes, length 1. */
  readonly directions: Float64Array;
  /** Magnitude as the camera sees it. */
  readonly magnitudes: Float32Array;
  /** Index in the catalogue; -1 = not in it. */
  readonly catalogueIndex: Int32Array;
}

/** A part of the sky. */
export interface Cap {
  /** ICRS direction, length 1. */
  readonly centre: Vector;
  /** Radians, up to π. */
  readonly radius: number;
}

/** Stars at least as bright as `faintest` within a cap. */
export function trueStars(plan: NightPlan, catalogue: Catalogue, cap: Cap, faintest: number, random: Random): TrueStars {
  const years = (plan.startUtc.getTime() - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86_400_000);
  const stars: Growing = { directions: [], magnitudes: [], catalogueIndex: [] };
  const cosine = Math.cos(cap.radius);
  const [cx, cy, cz] = cap.centre;
  const d = catalogue.directions;
  const moves = random.stream('moves');
  for (let i = 0; i < catalogue.count; i++) {
    const listed = catalogue.magnitudes[i]!;
    // Colours make few stars brighter by more than four sigma.
    if (listed > faintest + 4 * plan.magnitudeScatter) break;
    const x = d[3 * i]!;
    const y = d[3 * i + 1]!;
    const z = d[3 * i + 2]!;
    if (x * cx + y * cy + z * cz < cosine) continue;
    const magnitude = listed + plan.magnitudeScatter * moves.normal();
    const sigma = plan.motionScale * Math.hypot(catalogue.sigmas[i]!, motionPerYear(listed) * years);
    const moved = displace([x, y, z], sigma * heavyTailed(moves), sigma * heavyTailed(moves));
    if (magnitude <= faintest) add(stars, moved, magnitude, i);
  }
  if (plan.uncataloguedDensity > 0) invent(plan, cap, faintest, random.stream('uncatalogued'), stars);
  return grown(stars);
}

interface Growing {
  readonly directions: number[];
  readonly magnitudes: number[];
  readonly catalogueIndex: number[];
}

/** Stars added one by one. */
export function growingStars(): { add(direction: Vector, magnitude: number, index: number): void; made(): TrueStars } {
  const stars: Growing = { directions: [], magnitudes: [], catalogueIndex: [] };
  return { add: (direction, magnitude, index) => add(stars, direction, magnitude, index), made: () => grown(stars) };
}

function grown({ directions, magnitudes, catalogueIndex }: Growing): TrueStars {
  return {
    count: magnitudes.length,
    directions: Float64Array.from(directions),
    magnitudes: Float32Array.from(magnitudes),
    catalogueIndex: Int32Array.from(catalogueIndex),
  };
}

function add(stars: Growing, direction: Vector, magnitude: number, index: number): void {
  stars.directions.push(...direction);
  stars.magnitudes.push(magnitude);
  stars.catalogueIndex.push(index);
}

/** Root mean square of proper motion in each coordinate, radians a year: 30 mas at magnitude 6, 8 mas at 11 (DESIGN, section 3). */
function motionPerYear(magnitude: number): number {
  const share = Math.min(1, Math.max(0, (magnitude - 6) / 5));
  return 0.03 * Math.pow(8 / 30, share) * ARCSECOND;
}

/**
 * Variance 1, but one in a few hundred beyond 4: Student's t with 4 degrees of freedom. Real proper motions have such a tail, since near
 * stars move fast.
 */
export function heavyTailed(random: Random): number {
  const chi2 = -2 * Math.log((1 - random.uniform()) * (1 - random.uniform()));
  return random.normal() / Math.sqrt(chi2 / 4) / Math.SQRT2;
}

/** The direction moved by two small angles at right angles, radians. */
export function displace(direction: Vector, a: number, b: number): Vector {
  const side: Vector = Math.abs(direction[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0];
  const e = unit(cross(side, direction));
  const n = cross(direction, e);
  return unit([
    direction[0] + a * e[0] + b * n[0],
    direction[1] + a * e[1] + b * n[1],
    direction[2] + a * e[2] + b * n[2],
  ]);
}

/**
 * Stars brighter than magnitude m in a square degree near the poles: 28 at 11.5, times 10^0.4 a magnitude. The catalogue's own counts give
 * 2.6 at 9, 7.0 at 10, 18 at 11, 28 at 11.5 within 12° of either pole; they are extrapolated from there.
 */
export function starsPerSquareDegree(magnitude: number): number {
  return 28 * Math.pow(10, 0.4 * (magnitude - 11.5));
}

/** By distance from the nearer pole: the magnitudes at which the catalogue begins to be incomplete and at which it ends. */
const ZONES = [
  { to: 12 * DEGREE, missesFrom: 11.5, missesAllFrom: 12.7 },
  { to: 45 * DEGREE, missesFrom: 9.1, missesAllFrom: 9.3 },
  { to: 90 * DEGREE, missesFrom: 2, missesAllFrom: 2 },
];

/** Adds the stars that the catalogue lacks, uniformly over the cap. */
function invent(plan: NightPlan, cap: Cap, faintest: number, random: Random, stars: Growing): void {
  const brightest = ZONES[2]!.missesFrom;
  if (faintest <= brightest) return;
  const squareDegrees = (2 * Math.PI * (1 - Math.cos(cap.radius))) / DEGREE ** 2;
  const east = unit(cross(Math.abs(cap.centre[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0], cap.centre));
  const north = cross(cap.centre, east);
  // Only as deep as some part of the cap needs: most caps are entirely where the catalogue is deep.
  const nearest = Math.max(0, Math.acos(Math.min(1, Math.abs(cap.centre[2]))) - cap.radius);
  const farthest = Math.min(Math.PI / 2, Math.acos(Math.min(1, Math.abs(cap.centre[2]))) + cap.radius);
  const zones = ZONES.filter((zone, k) => zone.to >= nearest && (k === 0 || ZONES[k - 1]!.to < farthest));
  const from = Math.min(...zones.map((zone) => zone.missesFrom));
  if (faintest <= from) return;
  const below = starsPerSquareDegree(from);
  const between = starsPerSquareDegree(faintest) - below;
  const count = random.poisson(squareDegrees * between * plan.uncataloguedDensity);
  for (let i = 0; i < count; i++) {
    const magnitude = 11.5 + 2.5 * Math.log10((below + random.uniform() * between) / 28);
    const c = 1 - random.uniform() * (1 - Math.cos(cap.radius));
    const s = Math.sqrt(Math.max(0, 1 - c * c));
    const turn = 2 * Math.PI * random.uniform();
    const chance = random.uniform();
    const e = s * Math.cos(turn);
    const n = s * Math.sin(turn);
    const direction: Vector = [
      c * cap.centre[0] + e * east[0] + n * north[0],
      c * cap.centre[1] + e * east[1] + n * north[1],
      c * cap.centre[2] + e * east[2] + n * north[2],
    ];
    const fromPole = Math.acos(Math.min(1, Math.abs(direction[2])));
    const zone = ZONES.find(({ to }) => fromPole <= to) ?? ZONES[2]!;
    const missing = (magnitude - zone.missesFrom) / Math.max(1e-9, zone.missesAllFrom - zone.missesFrom);
    if (chance < missing) add(stars, direction, magnitude, -1);
  }
}
