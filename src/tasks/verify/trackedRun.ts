import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { DEGREE, wrapSigned } from '../../geometry/angle.js';
import { median } from '../../numeric/median.js';
import { type FieldDrift, fieldDrift } from '../../run/fieldDrift.js';
import { type RegisteredField, registerField } from '../../run/registerField.js';
import type { FrameTrouble } from '../recognise/frameStars.js';
import { tooFew } from '../recognise/tooFew.js';
import { type ShapedFrame, type SortedFrames, timeOf } from './shapedFrame.js';
import { withoutTurned } from './turnedFrames.js';

/** Frames of one field, registered on each other, and how it moves. */
export interface TrackedRun {
  readonly frames: readonly ShapedFrame[];
  readonly field: RegisteredField;
  readonly drift: FieldDrift;
  readonly left: readonly FrameTrouble[];
}

/** Registers frames on each other and follows the field. Throws PolewardError where they show nothing of it. */
export function trackedRun({ shaped: frames, left }: SortedFrames): TrackedRun {
  const [size] = frames;
  if (!size || frames.length < 2) throw tooFew(frames.length, left);
  const registered = registerField(frames.map((f) => f.stars), size.width, size.height);
  if (!registered) throw new PolewardError(
    'no-stars', 'No two of the frames share a star field. Give frames of one field that overlap, with at least four stars in common.',
  );
  const field = withoutTurned(registered);
  const drift = fieldDrift(field, frames.map(timeOf));
  if (!drift) throw new PolewardError(
    'no-time',
    'The frames that share a field were all taken at the same time, so that nothing can have drifted. Check their times, or give frames '
      + 'some minutes apart.',
  );
  const apart = frames.flatMap((frame, i) => (field.frames[i] ? [] : [notOfField(frame, registered.frames[i]?.fit.rotation ?? null)]));
  return { frames, field, drift, left: [...left, ...apart] };
}

/** Why a frame is not registered on the others. `rotation`: relative to them; null where it shares no stars with them. */
function notOfField({ file }: ShapedFrame, rotation: number | null): FrameTrouble {
  return { file, code: 'no-stars', message: rotation === null
    ? `${file} shares too few stars with the others: cloud, another field, another camera, or a camera turned round. It was left out.`
    : `${file} is turned by ${Math.abs(wrapSigned(rotation) / DEGREE).toFixed(0)}° against the others, as after a meridian flip. It was `
      + 'left out; verify such frames by themselves.' };
}

/**
 * The exposure that the person gives, else that of the first frame with one; null where there is none.
 *
 * @throws PolewardError `bad-option` where it is longer than the time from frame to frame
 */
export function exposureOf(given: Sourced<number> | null, { frames, drift }: TrackedRun): Sourced<number> | null {
  const exposure = given ?? frames.map((f) => f.metadata.exposureSeconds).find((e) => e !== null && e.value > 0) ?? null;
  const gap = median(drift.seconds.slice(1).map((t, k) => t - drift.seconds[k]!));
  if (exposure && exposure.value > 1.1 * gap + 1) {
    throw new PolewardError('bad-option', `An exposure of ${exposure.value} s (${exposure.from}) is longer than the ${gap.toFixed(0)} s `
      + `from frame to frame. Give the right one, or check the frames' times.`,
      { remedies: ['give-exposure'] });
  }
  return exposure;
}
