import { type Aim, aimedPole } from '../axis/aim.js';
import { axisError } from '../axis/axisError.js';
import { fileName } from '../fileName.js';
import { printable } from '../printable.js';
import type { Explanation } from './explanations.js';
import { offWords } from './motions.js';
import type { Night } from './night.js';
import type { PoseDoubt } from './understanding.js';
import { axisCovariance } from './mountState.js';

/** Two explanations of the looks that lead to different answers and that the looks can't decide between, and what settles it. */
export interface Doubt {
  readonly code: 'knob-or-declination' | 'camera-moved' | 'small-move' | 'unclear' | 'remembered-camera' | 'turn-sign' | 'frames-disagree';
  /** What the doubt is, and what the answer would be. */
  readonly message: string;
  /** What to do about it. */
  readonly settle: string;
}

const TURN = 'Turn the mount 20° or more in right ascension, touch no knob, save a frame.';

/** The doubts about a look's answer, the last look's unless said. */
export function doubtsAt(night: Night, aim: Aim, look = night.looks.length - 1): Doubt[] {
  const answer = night.answers[look];
  if (!answer?.axis) return [];
  const doubts: Doubt[] = [];
  if (night.setting.anchor?.from === 'earlier-night' && answer.unconfirmed && look === 0) doubts.push(rememberedDoubt(night));
  if (answer.doubt) doubts.push(doubtOf(night, aim, look, answer.doubt));
  return doubts;
}

function rememberedDoubt({ setting, looks }: Night): Doubt {
  const days = Math.max(1, Math.round((Date.parse(looks[0]!.utc) - Date.parse(setting.anchor!.utc)) / 86_400_000));
  return {
    code: 'remembered-camera',
    message: `This goes by where the camera sat on the mount ${days === 1 ? 'last night' : `${days} days ago`}. If it was taken off `
      + `since, the answer is wrong.`,
    settle: 'Turn the mount 30° or more in right ascension, touch no knob, save a frame.',
  };
}

function doubtOf(night: Night, aim: Aim, look: number, doubt: PoseDoubt): Doubt {
  const { since } = doubt;
  const before = `before ${printable(fileName(night.looks[since]!.file))}`;
  const thought = since === look ? night.answers[look]!.happened : night.accounts[0]!.happened[since] ?? 'both';
  const instead = insteadOf(night, aim, look, doubt);
  const pair = [thought, doubt.happened] as const;
  const code = codeOf(pair);
  return { code, message: `${sentences(code, pair, before)}${instead}`, settle: code === 'camera-moved' ? `${TURN} Then do it once `
    + `more.` : TURN };
}

function codeOf([thought, other]: readonly [Explanation, Explanation]): Doubt['code'] {
  const either = (a: Explanation, b: Explanation): boolean => (thought === a && other === b) || (thought === b && other === a);
  if (either('knob', 'declination')) return 'knob-or-declination';
  if (thought === 'both' || other === 'both') return 'camera-moved';
  if (thought === 'same' || other === 'same') return 'small-move';
  return 'unclear';
}

function sentences(code: Doubt['code'], [thought]: readonly [Explanation, Explanation], before: string): string {
  switch (code) {
    case 'knob-or-declination':
      return thought === 'knob'
        ? `A knob was turned ${before}, or the declination moved: one frame can't tell. If it was the declination, `
        : `The declination moved ${before}, or a knob was turned: one frame can't tell. If it was a knob, `;
    case 'camera-moved':
      return `Camera or declination may have moved ${before}, as well as a knob. If so, `;
    case 'small-move':
      return thought === 'same' ? `Something may have moved a little ${before}. If so, ` : `Perhaps nothing moved ${before}. If so, `;
    default:
      return `What moved ${before} is not clear. By another explanation `;
  }
}

/** Where the axis is by the other explanation. */
function insteadOf({ setting, frames, accounts, answers }: Night, aim: Aim, look: number, { axis }: PoseDoubt): string {
  if (!axis) return 'the axis is not known yet.';
  const { sky } = frames[look]!;
  const covariance = answers[look]!.covariance ?? axisCovariance(accounts[0]!.state);
  const sigma = Math.sqrt(Math.max(covariance[0], covariance[3]));
  if (!setting.site) return 'it is elsewhere.';
  const error = axisError(axis, aimedPole(sky, setting.hemisphere, aim));
  return `the axis is ${offWords(error, { altitude: sigma, azimuth: sigma, separation: sigma })}.`;
}
