import { DEGREE } from '../../geometry/angle.js';
import { type Steps, atOnce } from '../../numeric/steps.js';
import { difference, sameLens } from './goesWith.js';
import { type KnownFrame, type Recognition, type Reference, glanceSteps, recogniseSteps } from './recognition.js';
import { unzoned } from './sharedTrouble.js';
import { setAside } from './setAside.js';
import type { FrameResult, FrameStars, FrameTrouble } from './frameStars.js';

/** A frame in the order given: recognised, or in trouble. */
export type FrameOutcome =
  | { readonly known: KnownFrame; readonly trouble?: never }
  | { readonly known?: never; readonly trouble: FrameTrouble; readonly frame: FrameStars | null };

/** Frames, recognised where possible, in the order given, and what is known after them. */
export interface IdentifiedFrames {
  readonly outcomes: readonly FrameOutcome[];
  readonly recognition: Recognition;
}

/** A glance costs up to a second where it is in vain. */
export const GLANCES = 2;
/** Fewer stars than this never pass the test against chance. */
const FEWEST_STARS = 4;

/**
 * Recognises the stars of each frame. Once one is recognised, its lens is used for the others, and for another attempt at the earlier ones.
 * Frames that do not belong with the others are left out. `before`: what is known of them or their camera already.
 *
 * @throws PolewardError `bad-option` where the frames show the other hemisphere's pole
 */
export function identifyFrames(results: readonly FrameResult[], reference: Reference, before: Recognition): IdentifiedFrames {
  return atOnce(identifySteps(results, reference, before));
}

/** The same in steps. */
export function* identifySteps(results: readonly FrameResult[], reference: Reference, before: Recognition): Steps<IdentifiedFrames> {
  const aside = setAside(results);
  const longitudeDeg = reference.site && reference.site.longitude / DEGREE;
  const left = results.filter((r): r is FrameStars => 'stars' in r && !aside.has(r) && unusable(r, longitudeDeg) === null);
  let recognition = before;
  for (const [steps, frame] of inOrder(left)) {
    recognition = yield* steps(reference, recognition, frame);
    if (recognition.refusal) throw recognition.refusal;
  }
  const outcomes = results.map((result): FrameOutcome => {
    const trouble = aside.get(result) ?? unusable(result, longitudeDeg);
    if (trouble || !('stars' in result)) return { trouble: trouble ?? (result as FrameTrouble), frame: 'stars' in result ? result : null };
    const known = recognition.known.get(result);
    return known ? { known } : { trouble: notIdentified(result), frame: result };
  });
  return { outcomes: oneCamera(outcomes), recognition };
}

type Search = typeof recogniseSteps;

/**
 * Two frames are glanced at before the whole sky is searched for the first: where one shows cloud, the other is known at once, and gives
 * the lens for all. The last round is for those before the first that was recognised.
 */
function inOrder(frames: readonly FrameStars[]): [Search, FrameStars][] {
  const each = (steps: Search, some: readonly FrameStars[]): [Search, FrameStars][] => some.map((frame) => [steps, frame]);
  const rest = frames.flatMap((frame) => each(glanceSteps, [frame]).concat(each(recogniseSteps, [frame])));
  return [...each(glanceSteps, frames.slice(0, GLANCES)), ...rest, ...each(recogniseSteps, frames)];
}

/** Leaves out what another camera or lens took, by scale and parity: such frames share neither the lens nor the place on the mount. */
function oneCamera(outcomes: readonly FrameOutcome[]): FrameOutcome[] {
  const cameras: KnownFrame[][] = [];
  for (const { known } of outcomes) {
    if (!known) continue;
    const camera = cameras.find(([first]) => sameLens(first!.identification.lens, known.identification.lens));
    if (camera) camera.push(known);
    else cameras.push([known]);
  }
  const [kept] = [...cameras].sort((a, b) => b.length - a.length);
  return outcomes.map((outcome) => {
    const { known } = outcome;
    if (!known || !kept || kept.includes(known)) return outcome;
    const [first] = kept;
    const { file } = known.frame;
    const differs = difference(known.identification.lens, first!.identification.lens, kept.length === 1 ? first!.frame.file : 'the others');
    return {
      trouble: { file, code: 'other-camera', message: `${file} ${differs}: another camera or lens. Use frames of one camera.` },
      frame: known.frame,
    };
  });
}

/** Why a frame can't be used before its stars are looked up; null if it can. */
export function unusable(result: FrameResult, longitudeDeg: number | null): FrameTrouble | null {
  if (!('stars' in result)) return result;
  const { file } = result;
  if (result.metadata.unzonedClock) return unzoned(result, longitudeDeg);
  if (!result.metadata.midExposure) {
    const why = result.metadata.remarks.join(' ');
    const says = `without the time the motion of the sky can't be separated from the mount's.${why ? ` ${why}` : ''} Save frames with `
      + 'the time in their header, or give it.';
    return {
      file, code: 'no-time', message: `${file} does not say when it was taken, and ${says}`,
      shared: `they do not say when they were taken, and ${says}`, remedies: ['give-time'],
    };
  }
  if (result.stars.length < FEWEST_STARS) {
    const count = result.stars.length === 0 ? 'no stars' : result.stars.length === 1 ? 'one star' : `${result.stars.length} stars`;
    return { file, code: 'no-stars', message: `${file} shows ${count}. Check focus, lens cap and clouds, or expose longer.` };
  }
  return null;
}

/** A frame whose stars were not recognised. */
export function notIdentified(frame: FrameStars): FrameTrouble {
  return {
    file: frame.file, code: 'not-identified',
    message: `${frame.file} has ${frame.stars.length} stars, but none of them were recognised anywhere in the sky. Expose longer, check `
      + 'focus, or wait for clouds to pass; for a field narrower than 1° say where it looks.',
    remedies: ['say-where'],
  };
}
