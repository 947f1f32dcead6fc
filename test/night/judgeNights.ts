import { ARCSECOND } from '../../src/geometry/angle.js';
import { type Vector, angleBetween, dot, subtract } from '../../src/geometry/vector.js';
import { axisBasis } from '../../src/axis/axisBasis.js';
import { type PoseAnswer, answerOf } from '../../src/night/understanding.js';
import { type Account, accountsFrom, weighLook } from '../../src/night/weigh.js';
import { type DrawnLook, type DrawnNight, drawNight } from './drawnNight.js';

/** What became of the looks of many nights. */
export interface Judged {
  looks: number;
  answerable: number;
  answered: number;
  answeredOfAnswerable: number;
  /** Answers without a doubt off by more than six sigmas and 3″. */
  wrong: {
    readonly seed: number; readonly look: number; readonly arcsec: number; readonly deed: DrawnLook['deed']; readonly clean: boolean;
  }[];
  /** Answers with a doubt that are off as much. */
  wrongInDoubt: number;
  /** Answers without a doubt that are not wrong, off by more than four sigmas. */
  beyondFour: number;
  sure: number;
  /** The same two of nights without bump or slip. */
  cleanBeyondFour: number;
  cleanSure: number;
  doubts: number;
  /** Of nights without a bump, a slip of the camera or of the tripod. */
  kinds: Record<'no bump' | 'tripod sank' | 'bump alone' | 'bump and knob at once', number>;
  cleanAnswers: number;
  cleanDoubts: number;
  /** Bumps after which a look turned against one later was still wrong without a doubt, or with one. */
  bumps: number;
  notRightAfterTwo: number;
  /** The same where a knob was turned in the same moment as the bump. */
  bumpsWithKnob: number;
  notRightWithKnob: number;
}

/** Answers after each look of a night; each is asked for once only. */
export function liveNight(seed: number): { night: DrawnNight; answers: readonly PoseAnswer[] } {
  const answers: PoseAnswer[] = [];
  const night = drawNight(seed, (hemisphere, pole) => {
    const setting = { hemisphere, pole, levelKnown: true };
    let accounts: readonly Account[] = [];
    return (looks) => {
      accounts = looks.length === 1 ? accountsFrom(looks[0]!, setting, null) : weighLook(accounts, looks, setting);
      const answer = answerOf(accounts);
      answers.push(answer);
      return answer.axis;
    };
  });
  return { night, answers };
}

/** How far an answer is off, radians, and in its sigmas (of two dimensions: chi). */
function offBy(answer: PoseAnswer, truth: Vector): { angle: number; sigmas: number } {
  const basis = axisBasis(answer.axis!);
  const off = subtract(truth, answer.axis!);
  const [u, v] = [dot(off, basis[0]), dot(off, basis[1])];
  const [a, b, , d] = answer.covariance!;
  return { angle: angleBetween(truth, answer.axis!), sigmas: Math.sqrt((d * u * u - 2 * b * u * v + a * v * v) / (a * d - b * b)) };
}

export function judgeNights(first: number, nights: number): Judged {
  const j: Judged = {
    looks: 0, answerable: 0, answered: 0, answeredOfAnswerable: 0, wrong: [], wrongInDoubt: 0, beyondFour: 0, sure: 0, cleanBeyondFour: 0,
    cleanSure: 0, doubts: 0,
    kinds: { 'no bump': 0, 'tripod sank': 0, 'bump alone': 0, 'bump and knob at once': 0 }, cleanAnswers: 0, cleanDoubts: 0,
    bumps: 0, notRightAfterTwo: 0, bumpsWithKnob: 0, notRightWithKnob: 0,
  };
  for (let seed = first; seed < first + nights; seed++) {
    const { night, answers } = liveNight(seed);
    const clean = night.looks.every(({ deed }) => !deed.bumped && !deed.sank);
    night.looks.forEach(({ axis, answerable, deed }, i) => {
      const answer = answers[i]!;
      j.looks++;
      if (answerable) j.answerable++;
      if (!answer.axis) return;
      j.answered++;
      if (answerable) j.answeredOfAnswerable++;
      const { angle, sigmas } = offBy(answer, axis);
      const wrong = angle > 3 * ARCSECOND && sigmas > 6;
      if (answer.doubt) j.doubts++;
      else if (!answer.unconfirmed) {
        j.sure++;
        if (clean) j.cleanSure++;
      }
      if (clean) { j.cleanAnswers++; if (answer.doubt) j.cleanDoubts++; }
      if (wrong && (answer.doubt || answer.unconfirmed)) j.wrongInDoubt++;
      else if (wrong) {
        j.wrong.push({ seed, look: i, arcsec: angle / ARCSECOND, deed, clean });
        j.kinds[kindOf({ night, look: i })]++;
      }
      else if (!answer.doubt && !answer.unconfirmed && sigmas > 4) {
        j.beyondFour++;
        if (clean) j.cleanBeyondFour++;
      }
    });
    judgeBumps(j, night, answers);
  }
  return j;
}

/** After a bump: two looks slewed with nothing else done, whatever lies between. The second must be right. */
function judgeBumps(j: Judged, { looks }: DrawnNight, answers: readonly PoseAnswer[]): void {
  looks.forEach(({ deed }, i) => {
    if (!deed.bumped || i === 0 || answers[i - 1]!.axis === null || !looks[i - 1]!.answerable) return;
    let turned = 0;
    for (let k = i + 1; k < looks.length; k++) {
      const d = looks[k]!.deed;
      if (d.bumped || d.sank) return;
      if (!d.slewed || d.knobs.length > 0) continue;
      if (++turned < 2) continue;
      const answer = answers[k]!;
      const off = answer.axis && offBy(answer, looks[k]!.axis);
      const right = off !== null && (off.angle <= 3 * ARCSECOND || off.sigmas <= 6);
      const alone = deed.knobs.length === 0;
      if (alone) j.bumps++;
      else j.bumpsWithKnob++;
      if (!right && alone) j.notRightAfterTwo++;
      if (!right && !alone) j.notRightWithKnob++;
      return;
    }
  });
}

/** Why a wrong answer without a doubt was wrong, as far as the truth tells. */
function kindOf({ night, look }: { night: DrawnNight; look: number }): keyof Judged['kinds'] {
  // The last time the camera moved before it, which is what the looks were misled by.
  const bump = night.looks.slice(0, look + 1).map(({ deed }) => deed.bumped).lastIndexOf(true);
  if (bump < 0) return night.looks.slice(0, look + 1).some(({ deed }) => deed.sank) ? 'tripod sank' : 'no bump';
  return night.looks[bump]!.deed.knobs.length > 0 ? 'bump and knob at once' : 'bump alone';
}

export function tableOf(j: Judged, nights: number, first: number): string {
  const share = (a: number, b: number): string => `${a} of ${b} (${((100 * a) / Math.max(1, b)).toFixed(2)} %)`;
  return [
    `${nights} nights from seed ${first}, ${j.looks} looks`,
    `answered, of those that can be:             ${share(j.answeredOfAnswerable, j.answerable)}`,
    `wrong (over 6 sigma and 3″), no doubt said: ${share(j.wrong.length, j.answered)}`,
    `  of these: ${Object.entries(j.kinds).map(([kind, n]) => `${kind} ${n}`).join(', ')}; nights with one: `
      + `${new Set(j.wrong.map((w) => w.seed)).size}`,
    `wrong, with a doubt said:                   ${share(j.wrongInDoubt, j.answered)}`,
    `over 4 sigma, no doubt said:                ${share(j.beyondFour, j.sure)}; chance: ${(100 * Math.exp(-8)).toFixed(3)} %`,
    `  the same, nights without bump or slip:     ${share(j.cleanBeyondFour, j.cleanSure)}`,
    `in doubt, nights without bump or slip:      ${share(j.cleanDoubts, j.cleanAnswers)}`,
    `in doubt, all nights:                       ${share(j.doubts, j.answered)}`,
    `not right by the second turned look after a bump: ${share(j.notRightAfterTwo, j.bumps)}`,
    `  the same with a knob turned in the same moment: ${share(j.notRightWithKnob, j.bumpsWithKnob)}`,
    ...j.wrong.slice(0, 20).map((w) => `  seed ${w.seed} look ${w.look}: ${w.arcsec.toFixed(1)}″, ${JSON.stringify(w.deed)}`),
  ].join('\n');
}
