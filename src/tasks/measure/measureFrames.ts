import { PolewardError } from '../../error.js';
import type { Aim } from '../../axis/aim.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { checkClock } from '../../axis/clockChecks.js';
import type { AxisFrame } from '../../axis/estimateMount.js';
import { measureAxis } from '../../axis/measureAxis.js';
import { altitudeOfPole, checkMeasurement } from '../../axis/measurementChecks.js';
import type { Disagreement } from '../../axis/oneRotation.js';
import { strayAxis } from '../../axis/strayAxis.js';
import type { Warning } from '../../axis/warning.js';
import { fileName } from '../../fileName.js';
import { DEGREE } from '../../geometry/angle.js';
import type { Anchor } from '../../night/anchor.js';
import { correctionWords } from '../../night/corrections.js';
import { type Doubt, doubtsAt } from '../../night/doubts.js';
import { LONGEST_EXPOSURE, type Look, lookOf } from '../../night/look.js';
import { type News, type Night, type NightAnswer, answerAt, correctionsOf, gapBefore, withLook } from '../../night/night.js';
import { printable } from '../../printable.js';
import { nightOfSession } from '../../night/record/nightOfSession.js';
import type { Session } from '../../night/record/session.js';
import type { Said } from '../../night/poseLook.js';
import { focalHint } from '../given/focalHint.js';
import { whyNotWith } from '../recognise/goesWith.js';
import type { FrameTrouble } from '../recognise/frameStars.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import type { KnownFrame } from '../recognise/recognition.js';
import { clockStands, sameMoment } from '../recognise/sameMoment.js';
import { timedFrame } from '../recognise/timedFrame.js';
import { mergedTroubles } from '../recognise/sharedTrouble.js';
import { timeWarnings } from '../recognise/timesGiven.js';
import { tooFew } from '../recognise/tooFew.js';
import { aboutFrame } from '../words/whereText.js';
import { placeWarnings } from '../given/placeWarnings.js';
import { siteInForce } from '../given/siteInForce.js';
import { type SeenFrames, hemisphereSeen } from './seeFrames.js';
import type { SeeRequest } from './seeRequest.js';

/** A frame that was given, with its look and whether that is new to the night. */
export interface GivenLook {
  readonly known: KnownFrame;
  readonly look: Look;
  readonly news: News;
}

/** Frames added to a night, and what the night says now. */
export interface Measured extends SeenFrames {
  readonly night: Night;
  /** In the order of time. */
  readonly given: readonly GivenLook[];
  /** Index of the look that is answered: the night's last. */
  readonly look: number;
  readonly answer: NightAnswer;
  /** Of the look's stance; `frames` are those of `known`, in its order. */
  readonly measurement: AxisResult;
  /** The given frames that the answer is based on. */
  readonly known: readonly KnownFrame[];
  readonly doubts: readonly Doubt[];
  readonly unconfirmed: boolean;
  readonly warnings: readonly Warning[];
}

/** What the person said was done before the given frames. */
export interface AddRequest extends SeeRequest {
  /** Before the first of them. */
  readonly before: Said | undefined;
  /** Between them nothing but right ascension was turned. */
  readonly turnedOnly: boolean;
}

/** Nearer to the zenith, azimuth and the turn about the axis can't be separated. */
const HIGHEST_LATITUDE = 80 * DEGREE;
const SHORT_TURN = 1 * DEGREE;

/** The night that frames are added to: that of the session, or one that begins with them. */
export function nightBefore(seen: SeenFrames, session: Session | null, remembered: Anchor | null): Night {
  return nightOfSession(session, seen.site?.site ?? null, hemisphereSeen(seen), remembered);
}

/** A night with frames added to it. Frames of another camera or night are left out. */
export interface Added {
  readonly night: Night;
  readonly given: readonly GivenLook[];
  readonly aside: readonly FrameTrouble[];
}

/** Adds recognised frames to a night, in the order of time. */
export function addFrames(seen: SeenFrames, before: Night, { before: did, turnedOnly }: Pick<AddRequest, 'before' | 'turnedOnly'>): Added {
  let night = before;
  const given: GivenLook[] = [];
  const aside: FrameTrouble[] = [];
  const ordered = [...seen.known].sort((a, b) => a.sky.time.getTime() - b.sky.time.getTime());
  const stands = clockStands(ordered);
  for (const known of ordered) {
    const trouble = whyNotWith(night, known) ?? (stands ? null : sameMoment(night, known));
    if (trouble) {
      aside.push(trouble);
      continue;
    }
    const said: Said | undefined = given.length === 0 ? did : turnedOnly ? { did: 'turned-only', knobs: [] } : undefined;
    const look = lookOf({ file: known.frame.file, ...axisFrame(known) }, said);
    const added = withLook(night, look);
    given.push({ known, look, news: added.news });
    night = added.night;
  }
  return { night, given, aside };
}

/**
 * What the night shows with the frames added. Throws PolewardError where it gives no answer yet, with the reason.
 *
 * @param dropped frames that the person gave and that were not looked at
 */
export function measured(seen: SeenFrames, before: Night, request: AddRequest, dropped = 0): Measured {
  const { night, given, aside } = addFrames(seen, before, request);
  const troubles = [...seen.outcomes.flatMap((o) => (o.trouble ? [o.trouble] : [])), ...aside];
  if (request.turnedOnly && given.length < 2) throw tooFew(given.length, troubles);
  if (given.length === 0) throw noFrame(troubles);
  const answer = answerAt(night, request.aim);
  if (!answer) throw whyNoAnswer(night, given, request);
  const found = measuredBy(seen, before, { night, given, aside }, answer, request);
  return dropped === 0 ? found : { ...found, warnings: [...found.warnings, {
    code: 'frame-skipped',
    message: `Of the ${given.length + dropped} frames given ${given.length} were used, evenly spread: more would hardly make the `
      + `answer more certain. Give fewer to choose them yourself.`,
  }] };
}

/** The same where there is an answer. */
export function measuredBy(
  seen: SeenFrames, before: Night, { night, given, aside }: Added, answer: NightAnswer, request: SeeRequest,
): Measured {
  const look = night.looks.length - 1;
  const { site } = seen;
  const stray = strayAxis(answer.axis.axis, night.frames[look]!.sky, night.setting.hemisphere);
  if (stray) throw stray;
  const numbers = given.map(
    (g) => night.looks.findIndex((l) => l.utc === g.look.utc && l.file === (g.news === 'known' ? l.file : g.look.file)),
  );
  const inReach = given.filter((_, i) => answer.looks.includes(numbers[i]!));
  const places = inReach.map((g) => answer.looks.indexOf(numbers[given.indexOf(g)]!));
  const doubts = doubtsAt(night, request.aim);
  const known = inReach.map((g) => g.known);
  return {
    ...seen, night, given, look, answer, known, doubts,
    unconfirmed: night.answers.at(-1)!.unconfirmed,
    measurement: { ...answer.axis, frames: rebased(answer, places) },
    warnings: warningsOf(seen, before, { night, given, aside }, answer, request, known),
    site,
  };
}

/** Frames of the answer with turns counted from the first of them, or of a single one from the look before it. */
function rebased({ axis, looks }: NightAnswer, places: readonly number[]): AxisResult['frames'] {
  const first = places[0] ?? looks.length - 1;
  const from = places.length > 1 ? first : Math.max(0, first - 1);
  const zero = axis.frames[from]!.turn;
  return places.map((i) => ({ ...axis.frames[i]!, turn: axis.frames[i]!.turn - zero }));
}

function warningsOf(
  seen: SeenFrames, before: Night, { night, given, aside }: Added, answer: NightAnswer, request: SeeRequest, known: readonly KnownFrame[],
): Warning[] {
  const { site } = seen;
  const turns = answer.stance.map((i) => answer.axis.frames[answer.looks.indexOf(i)]!.turn);
  const largestTurn = Math.max(...turns) - Math.min(...turns);
  const checked = {
    ...answer.axis, largestTurn, disagreement: disagreementOf(night, given, answer),
  };
  const told = known.map(({ frame, identification }) => ({
    file: frame.file, identified: identification.stars.length, saidFocalPixels: focalHint(request, frame)?.value ?? null,
  }));
  const onlyTurned = answer.stance.length > 1;
  const warnings: Warning[] = [
    ...checkMeasurement(checked, told, site && altitudeOfPole(answer.axis)).filter((w) => onlyTurned || w.code !== 'small-rotation'),
    ...checkClock(given.map((g) => timedFrame(g.known, site)), request.today ?? null),
    ...pictureWarnings(known.map(({ frame }) => frame)),
    ...newsWarnings(given),
    ...correctionWarnings(before, night, request.aim),
    ...(site && given.length > 0
      ? placeWarnings(answer.axis, given[0]!.known.sky, site, request, given.map((g) => g.known.frame), seen.sessionSite ?? null)
      : []),
    ...timeWarnings(known.map(({ frame }) => frame)),
    ...mergedTroubles([...seen.outcomes.flatMap((o) => (o.trouble ? [o.trouble] : [])), ...aside]).map(leftOut),
  ];
  const beside = site ? null : siteInForce(request, known.map(({ frame }) => frame), seen.sessionSite ?? null);
  if (beside) {
    warnings.push({
      code: 'no-site',
      message: `At latitude ${beside.latitudeDeg.value.toFixed(1)}° (${beside.latitudeDeg.from}) azimuth has no meaning: so near the `
        + 'Earth\'s pole only the distance of the axis from the celestial pole is given, and its hour angle.',
    });
  } else if (!site) {
    warnings.push({
      code: 'no-site',
      message: 'Without the site there is no altitude or azimuth, only the distance from the pole. Give latitude and longitude to '
        + 'learn which knob to turn.',
      remedies: ['give-site'],
    });
  }
  return warnings;
}

/** Looks that the night has already, and looks older than its last. */
function newsWarnings(given: readonly GivenLook[]): Warning[] {
  const named = (news: News): string => given.filter((g) => g.news === news).map((g) => printable(fileName(g.known.frame.file))).join(', ');
  const [known, late] = [named('known'), named('late')];
  return [
    ...(known === '' ? [] : [{
      code: 'known-look' as const, message: `In the night's record already: ${known}. Nothing was recorded twice.`,
    }]),
    ...(late === '' ? [] : [{ code: 'late-look' as const, message: `Taken before the night's last frame: ${late}. It was put in order `
      + `of time; the answer is for the last frame.` }]),
  ];
}

/** Earlier answers that the new frames showed to be wrong. */
function correctionWarnings(before: Night, night: Night, aim: Aim): Warning[] {
  const known = new Set(correctionsOf(before).map((c) => before.looks[c.look]!.utc));
  return correctionsOf(night).filter((c) => !known.has(night.looks[c.look]!.utc))
    .map((c) => ({ code: 'corrected', message: correctionWords(night, c, aim) }));
}

/** Where frames that were only turned, as was said, do not fit one rotation. */
function disagreementOf(night: Night, given: readonly GivenLook[], { axis, looks }: NightAnswer): Disagreement | null {
  const [best] = night.accounts;
  const group = given.map((g) => night.looks.findIndex((l) => l.utc === g.look.utc));
  const breaks = group.filter((look, k) => k > 0 && night.looks[look]!.said?.did === 'turned-only' && best!.happened[look] !== 'same');
  const [first] = breaks;
  if (first === undefined || !looks.includes(first)) return null;
  const at = group.indexOf(first);
  const alone = group.length < 4 ? null : at === group.length - 1 ? at : at === 1 ? 0 : null;
  return { frame: alone, slip: gapBefore(night, first), sigma: axis.sigma.separation, perFreedom: 1 };
}

function axisFrame({ identification, sky, frame: { width, height, metadata } }: KnownFrame): AxisFrame {
  const exposure = metadata.exposureSeconds?.value ?? 0;
  return { identification, sky, width, height, ...(exposure > 0 && exposure <= LONGEST_EXPOSURE ? { exposureSeconds: exposure } : {}) };
}

function noFrame(troubles: readonly FrameTrouble[]): PolewardError {
  const [first] = mergedTroubles(troubles);
  return new PolewardError(first?.code ?? 'too-few-frames', first?.message ?? 'There is no frame to look at. Give '
    + 'one.', { remedies: first?.remedies ?? [] });
}

/** Why the looks of a night give no answer. */
function whyNoAnswer(night: Night, given: readonly GivenLook[], { aim, turnedOnly }: AddRequest): PolewardError {
  if (turnedOnly) {
    try {
      measureAxis(
        given.map(({ known }) => axisFrame(known)), aim,
      );
    } catch (error) {
      if (error instanceof PolewardError) return error;
      throw error;
    }
    return new PolewardError('no-rotation', 'These frames and those before them do not determine the axis. Turn the mount 30° or more in '
      + 'right ascension, touch no knob, and take the frames again.');
  }
  const one = night.looks.length === 1;
  const shown = one && given[0] ? ` ${aboutFrame(given[0].known)}`.trimEnd() : '';
  return new PolewardError(
    'no-rotation',
    `${one ? 'The night holds one frame only, and one' : 'No two of the night\'s frames were turned with nothing else touched: this'} does `
      + `not show the axis. Turn the mount 30° or more in right ascension, touch no knob, and give another frame.${shown}`,
  );
}

/** A frame that was left out, as a warning beside the answer of the others. */
export function leftOut({ message, remedies }: FrameTrouble): Warning {
  return { code: 'frame-skipped', message: `Left out: ${message}`, ...(remedies ? { remedies } : {}) };
}

/** A single look separates azimuth from a turn of the mount only away from the zenith. Throws PolewardError `bad-option`. */
export function requireLowEnough(found: Measured): void {
  const latitude = found.site?.site.latitude ?? 0;
  const turned = found.answer.stance.length > 1 && spread(found) > SHORT_TURN;
  if (Math.abs(latitude) <= HIGHEST_LATITUDE || turned) return;
  throw new PolewardError('bad-option', 'So near the zenith azimuth and right ascension can\'t be told apart in one frame. Measure '
    + 'anew with frames turned in right ascension.');
}

function spread({ answer }: Measured): number {
  const turns = answer.stance.map((i) => answer.axis.frames[answer.looks.indexOf(i)]!.turn);
  return Math.max(...turns) - Math.min(...turns);
}
