import type { Vector } from '../geometry/vector.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';

/** Which pole the person aligns to: where it appears through the air, or where it is. */
export type Aim = 'refracted' | 'true';

/** Of what holds for either pole, that of the pole aimed at. */
export function ofAim<T>(aim: Aim, truePole: T, refractedPole: T): T {
  return aim === 'true' ? truePole : refractedPole;
}

/** Where the aimed pole stands, a local direction. */
export function aimedPole(sky: Pick<LocalSky, 'truePole' | 'refractedPole'>, hemisphere: Hemisphere, aim: Aim): Vector {
  return ofAim(aim, sky.truePole(hemisphere), sky.refractedPole(hemisphere));
}

/** Of the errors from both poles, the one that counts. */
export function aimedError<E>(
  { aim, fromTruePole, fromRefractedPole }: { readonly aim: Aim; readonly fromTruePole: E; readonly fromRefractedPole: E },
): E {
  return ofAim(aim, fromTruePole, fromRefractedPole);
}
