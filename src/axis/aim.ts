import type { Vector } from '../geometry/vector.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';

/** Which pole the person aligns to: where it appears through the air, or where it is. */
export type Aim = 'refracted' | 'true';

/** Of what is given for either pole, the value for the aimed pole. */
export function ofAim<T>(aim: Aim, truePole: T, refractedPole: T): T {
  return aim === 'true' ? truePole : refractedPole;
}

/** The direction of the aimed pole, local. */
export function aimedPole(sky: Pick<LocalSky, 'truePole' | 'refractedPole'>, hemisphere: Hemisphere, aim: Aim): Vector {
  return ofAim(aim, sky.truePole(hemisphere), sky.refractedPole(hemisphere));
}

/** Of the errors from both poles, the one from the aimed pole. */
export function aimedError<E>(
  { aim, fromTruePole, fromRefractedPole }: { readonly aim: Aim; readonly fromTruePole: E; readonly fromRefractedPole: E },
): E {
  return ofAim(aim, fromTruePole, fromRefractedPole);
}
