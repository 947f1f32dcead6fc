import { attempt, PolewardError } from '../../error.js';
import { decodeFrame } from '../../frames/decodeFrame.js';
import type { FrameDecoders } from '../../frames/decoders.js';
import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import { type HappenedBefore, happenedBefore } from '../../night/happenings.js';
import { type Night, answerAt } from '../../night/night.js';
import { cameraOf } from '../../night/record/nightOfSession.js';
import type { Session } from '../../night/record/session.js';
import { type Limit, nextWithoutAnswer } from '../../night/said.js';
import type { Pace } from '../../numeric/steps.js';
import type { Notice } from '../../remedy.js';
import { type PracticeMount, practiceMount, withFrame, withKnobTurned, withTurn } from '../../simulate/practiceMount.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { type Given, givenValues } from '../given/given.js';
import { type Answer, answerOf } from '../measure/answer.js';
import { happened, saidOf } from '../measure/happened.js';
import { type Added, addFrames, measuredBy, nightBefore, requireLowEnough } from '../measure/measureFrames.js';
import { type SeenFrames, hemisphereSeen, seeFrames } from '../measure/seeFrames.js';
import { type ToRecord, beginningOf, entriesToRecord, sessionSite } from '../measure/toRecord.js';
import { starsOfFrame } from '../recognise/frameStars.js';
import { aboutFrame } from '../words/whereText.js';
import { type PracticePlace, practiceFrame } from './practiceFrame.js';

/** A night of practice as it stands: plain data. */
export interface PracticeNight {
  readonly mount: PracticeMount;
  readonly place: PracticePlace;
  /** What the frames so far have shown; null before the first. */
  readonly session: Session | null;
  /** Knobs turned since the last frame: the next one is told of them. */
  readonly turned: readonly KnobTurned[];
}

/** What the answer to a practice frame needs from outside. */
export interface PracticeMeans {
  readonly catalogue: StarCatalogue;
  readonly decoders: FrameDecoders;
  readonly pace: Pace;
  readonly limit: Limit;
  readonly version: string;
}

/** What came of a practice frame. */
export interface Practised {
  readonly night: PracticeNight;
  readonly file: string;
  /** Mid-exposure, ISO UTC; null where the frame was not recognised. */
  readonly utc: string | null;
  readonly happened: HappenedBefore | null;
  /** Null where the looks give no answer yet. */
  readonly answer: Answer | null;
  /** What a frame without an answer shows all the same; may be empty. */
  readonly about: string;
  /** What to do where there is no answer. */
  readonly next: string;
  readonly trouble: Notice | null;
}

/** What a practice night is measured by: its frames' headers say the rest. */
const GIVEN: Given = { aim: 'refracted', rigFile: null, ...givenValues({}, null) };

export function beginPractice(seed: string, place: PracticePlace): PracticeNight {
  return { mount: practiceMount(seed), place, session: null, turned: [] };
}

/** The night after a hand turned a knob. */
export function withHand(night: PracticeNight, turned: KnobTurned): PracticeNight {
  return { ...night, mount: withKnobTurned(night.mount, turned.knob, turned.turns), turned: [...night.turned, turned] };
}

/** The night after the mount was turned about its right-ascension axis, degrees, west positive. */
export function withSlew(night: PracticeNight, degrees: number): PracticeNight {
  return { ...night, mount: withTurn(night.mount, degrees) };
}

/**
 * The next frame, saved and answered as any camera's: rendered, written as a FITS file, read, recognised, added to the night.
 *
 * @param at when its exposure begins
 */
export async function practised(before: PracticeNight, at: Date, means: PracticeMeans): Promise<Practised> {
  const { catalogue, decoders, pace } = means;
  const { session, turned } = before;
  const { name: file, bytes } = practiceFrame(before.mount, before.place, at, catalogue);
  const night: PracticeNight = { ...before, mount: withFrame(before.mount) };
  const stars = starsOfFrame(await decodeFrame(bytes, file, decoders));
  const coming = { each: async (arrived: (result: typeof stars) => void) => { arrived(stars); return [stars]; } };
  const known = session ? { site: session.start.site, camera: cameraOf(session) } : undefined;
  const frames = await seeFrames(coming, 1, GIVEN, catalogue, () => {}, known, pace);
  const looks = nightBefore(frames, session, null);
  const added = addFrames(frames, looks, { before: saidOf(turned), turnedOnly: false });
  const trouble = frames.outcomes[0]?.trouble ?? added.aside[0] ?? null;
  const next = (count: number): string => nextWithoutAnswer(count).words;
  if (trouble) return { night, file, utc: null, happened: null, answer: null, about: '', next: next(looks.looks.length), trouble };
  const found = answered(before, frames, looks, added, at, means);
  const answer = found instanceof PolewardError ? null : found;
  const last = added.night.looks.length - 1;
  return {
    night: { ...night, turned: [], session: withRecord(session, toRecord(frames, added, turned, at, answer), at, means.version) },
    file, utc: added.night.looks[last]!.utc, happened: happenedBefore(added.night, last, GIVEN.aim), answer,
    about: aboutFrame(frames.known[0]!), next: next(added.night.looks.length), trouble: found instanceof PolewardError ? found : null,
  };
}

function answered(
  { session, turned }: PracticeNight, frames: SeenFrames, looks: Night, added: Added, at: Date, { catalogue, limit }: PracticeMeans,
): (Answer & { readonly toRecord: ToRecord }) | PolewardError | null {
  const answer = answerAt(added.night, GIVEN.aim);
  if (!answer) return null;
  return attempt(() => {
    const found = measuredBy(frames, looks, added, answer, GIVEN);
    if (session) requireLowEnough(found);
    return answerOf(found, {
      given: GIVEN, done: { turned, advised: null }, history: session && { session, earlier: [] }, limit, cautionsAgain: false, catalogue,
      star: undefined, at,
    });
  });
}

function toRecord(
  frames: SeenFrames, added: Added, turned: readonly KnobTurned[], at: Date, answer: { readonly toRecord: ToRecord } | null,
): ToRecord {
  return answer?.toRecord ?? {
    site: sessionSite(frames.site), hemisphere: hemisphereSeen(frames), rig: null, remembered: null, before: happened(at, [], turned),
    looks: added.given, answer: null,
  };
}

/** The session with what came; begun with it where there was none. */
function withRecord(session: Session | null, record: ToRecord, at: Date, version: string): Session {
  const start = session?.start ?? beginningOf(record, at, version);
  const before = session?.recorded ?? [{ line: 1, entry: start }];
  const fresh = entriesToRecord(record, at, (file) => file).map((entry, i) => ({ line: before.length + i + 1, entry }));
  return { path: 'practice', start, warnings: [], recorded: [...before, ...fresh] };
}
