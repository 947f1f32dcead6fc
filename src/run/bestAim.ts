import { ARCMINUTE, ARCSECOND } from '../geometry/angle.js';
import { type Vector, angleBetween, dot } from '../geometry/vector.js';
import { axisError, axisWithError, type AxisError, horizontal } from '../axis/axisError.js';
import { poleDirections, type TurningSky } from './misalignedMount.js';

/** The best direction of an axis for one run, and the gain. Trails in the unit of the function that was minimised. */
export interface BestAim {
  readonly axis: Vector;
  readonly fromTruePole: AxisError;
  readonly fromRefractedPole: AxisError;
  readonly trail: number;
  readonly trailAtTruePole: number;
  readonly trailAtRefractedPole: number;
  /** The best on the line from the true pole (share 0) to the refracted one (share 1). */
  readonly betweenPoles: { readonly share: number; readonly trail: number };
  /** Whether the best of all lies between the poles: on their line within a tenth of its length, not beyond either. */
  readonly isBetween: boolean;
  /** The best is at least this far from both poles: at the edge of the search. */
  readonly atEdge: boolean;
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;

/** Place of the smallest value of a function that falls, then rises, within `tolerance`. */
export function goldenMinimum(f: (x: number) => number, from: number, to: number, tolerance: number): { x: number; value: number } {
  let a = from, b = to;
  let p = b - GOLDEN * (b - a), q = a + GOLDEN * (b - a);
  let fp = f(p), fq = f(q);
  while (b - a > tolerance) {
    if (fp <= fq) {
      [b, q, fq] = [q, p, fp];
      p = b - GOLDEN * (b - a);
      fp = f(p);
    } else {
      [a, p, fp] = [p, q, fq];
      q = a + GOLDEN * (b - a);
      fq = f(q);
    }
  }
  return fp <= fq ? { x: p, value: fp } : { x: q, value: fq };
}

/**
 * Where to point the axis so that `trail` (of an axis, the largest of a run; refraction included) is smallest. Not only on the line between
 * true and refracted pole: low in the sky the best is beyond the refracted pole, away from the meridian beside the line. The largest of
 * trails that are nearly linear in the axis' place has one minimum, so nested golden sections find it. Found within about an arcsecond
 * where it matters; where a whole stretch is equally good, the point nearest to the middle between the poles is taken.
 */
export function bestAim(sky: TurningSky, trail: (axis: Vector) => number): BestAim {
  const { truePole, refractedPole } = poleDirections(sky);
  const lift = angleBetween(truePole, refractedPole);
  const cosine = Math.max(0.02, Math.hypot(truePole[0], truePole[1]));
  const reach = Math.max(60 * ARCMINUTE, 6 * lift);
  const at = (up: number, east: number): Vector => axisWithError(truePole, up, east / cosine);
  const trailAtTruePole = trail(truePole), trailAtRefractedPole = trail(refractedPole);
  const most = Math.max(trailAtTruePole, trailAtRefractedPole);
  const cost = (up: number, east: number): number => trail(at(up, east)) + most * 1e-3 * (((up - lift / 2) ** 2 + east ** 2) / reach ** 2);
  // Most of the search is far from its end: ten times finer in the second pass, around the first result.
  let up = lift / 2, east = 0, half = reach;
  for (const tolerance of [20 * ARCSECOND, 1 * ARCSECOND]) {
    const [aboutUp, aboutEast] = [up, east];
    const inner = (u: number): { x: number; value: number } =>
      goldenMinimum((e) => cost(u, e), aboutEast - half, aboutEast + half, tolerance);
    up = goldenMinimum((u) => inner(u).value, aboutUp - half, aboutUp + half, tolerance).x;
    east = inner(up).x;
    half = 6 * tolerance;
  }
  const between = lift > 0 ? goldenMinimum((share) => trail(at(share * lift, 0)), 0, 1, 1e-3) : { x: 0, value: trailAtTruePole };
  const shares = [
    { share: 0, trail: trailAtTruePole }, { share: 1, trail: trailAtRefractedPole }, { share: between.x, trail: between.value },
  ];
  const betweenPoles = shares.reduce((a, b) => (b.trail < a.trail ? b : a));
  const found = { axis: at(up, east), trail: trail(at(up, east)) };
  // The search may end slightly beside a point that was tried separately.
  const best = found.trail < betweenPoles.trail ? found : { axis: at(betweenPoles.share * lift, 0), trail: betweenPoles.trail };
  const fromTruePole = axisError(best.axis, truePole);
  const share = lift > 0 ? fromTruePole.altitude / lift : 0;
  const aside = Math.abs(dot(best.axis, [1, 0, 0]));
  return {
    axis: best.axis, fromTruePole, fromRefractedPole: axisError(best.axis, refractedPole), trail: best.trail, trailAtTruePole,
    trailAtRefractedPole,
    betweenPoles,
    isBetween: aside <= 0.1 * lift + ARCSECOND && share >= -0.05 && share <= 1.05 && horizontal(best.axis).altitude > 0,
    atEdge: best === found && Math.max(Math.abs(up - lift / 2), Math.abs(east)) > 0.98 * reach,
  };
}
