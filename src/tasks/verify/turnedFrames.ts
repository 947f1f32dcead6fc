import { DEGREE, wrapSigned } from '../../geometry/angle.js';
import type { RegisteredField } from '../../run/registerField.js';

/** No axis error turns a field by this much in a run. */
const TURNED = 5 * DEGREE;

/** Leaves out frames that are turned relative to most: taken after a meridian flip, or the camera was moved. */
export function withoutTurned(field: RegisteredField): RegisteredField {
  const rotations = field.frames.flatMap((f) => (f ? [f.fit.rotation] : []));
  const near = (a: number, b: number): boolean => Math.abs(wrapSigned(a - b)) < TURNED;
  const fellows = (a: number): number => rotations.filter((b) => near(a, b)).length;
  const common = rotations.reduce((best, a) => (fellows(a) > fellows(best) ? a : best), rotations[0]!);
  return { ...field, frames: field.frames.map((f) => (f && near(f.fit.rotation, common) ? f : null)) };
}
