import { type Aim, aimedPole } from '../axis/aim.js';
import { axisError } from '../axis/axisError.js';
import { fileName } from '../fileName.js';
import { printable } from '../printable.js';
import type { Explanation } from './explanations.js';
import { offWords } from './motions.js';
import type { Night } from './night.js';
import type { PoseCorrection } from './understanding.js';

const WHAT: Readonly<Record<Explanation, string>> = {
  same: 'nothing had moved',
  knob: 'a knob had moved the axis',
  declination: 'the declination or the camera had moved',
  both: 'both axis and camera had moved',
};

/** "frame-7.fits was answered wrongly: the declination had moved, not a knob. The axis was 3.20′ too low, 1.00′ too far east." */
export function correctionWords(night: Night, { look, thought, happened, axis }: PoseCorrection, aim: Aim): string {
  const { setting, looks, frames, answers } = night;
  const instead = thought === happened ? 'a frame before it had been misread'
    : thought === 'knob' && happened === 'declination' ? 'the declination or the camera had moved, not a knob' : WHAT[happened];
  const [a, , , d] = answers[look]!.covariance!;
  const sigma = Math.sqrt(Math.max(a, d));
  const error = axisError(axis, aimedPole(frames[look]!.sky, setting.hemisphere, aim));
  const was = setting.site ? ` The axis was ${offWords(error, { altitude: sigma, azimuth: sigma, separation: sigma })}.` : '';
  return `${printable(fileName(looks[look]!.file))} was answered wrongly: ${instead}.${was}`;
}
