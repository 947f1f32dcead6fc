import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { ARCMINUTE, ARCSECOND } from '../../geometry/angle.js';
import type { Guiding } from '../../run/impliedAxis.js';
import type { Catalogue } from '../../sky/catalogue.js';
import { withRemedies } from '../../remedy.js';
import { budgetOf } from '../../tasks/budget/budgetPlan.js';
import { budgetText } from '../../tasks/budget/budgetText.js';
import { clockZone } from '../../tasks/given/given.js';
import type { FrameTrouble } from '../../tasks/recognise/frameStars.js';
import { timed } from '../../tasks/recognise/timesGiven.js';
import { prepareSheet } from '../../tasks/prepare/prepareSheet.js';
import { preparationText, preparationWarningsText } from '../../tasks/prepare/prepareText.js';
import { sessionAxis } from '../../tasks/verify/sessionAxis.js';
import type { ShapedFrame } from '../../tasks/verify/shapedFrame.js';
import { verifyFrames } from '../../tasks/verify/verifyFrames.js';
import { verificationText } from '../../tasks/verify/verifyText.js';
import { sessionOf } from '../keep/keptNight.js';
import { remedyWords } from '../remedyWords.js';
import type { FramesApart } from './framesApart.js';
import { givenBy } from './given.js';
import type { NightWork } from './nightWork.js';
import type { Rests } from './rests.js';
import type { Stars } from './stars.js';

/** A run as the form has it. Null: not written. */
export interface RunAsked {
  readonly declinationDeg: number;
  readonly hourAngleHours: number;
  readonly hours: number;
  readonly exposureSeconds: number;
  readonly guided: boolean;
  readonly guideOffsetDeg: number | null;
  readonly limitPixels: number | null;
  readonly sensor: { readonly width: number; readonly height: number } | null;
  /** From the aimed pole, arcminutes; null: the open night's last. */
  readonly altitudeErrorArcmin: number | null;
  readonly azimuthErrorArcmin: number | null;
}

/** What a night is prepared for. Null: not written. */
export interface SheetAsked {
  /** Midnight UTC of the evening's day, ms. */
  readonly date: number | null;
  readonly apertureMillimetres: number | null;
  readonly sensor: { readonly width: number; readonly height: number } | null;
  readonly exposureSeconds: number | null;
  readonly precisionArcsec: number | null;
  readonly payloadKilograms: number | null;
  readonly capacityKilograms: number | null;
}

export interface VerifyAsked {
  readonly guiding: Guiding;
  readonly declinationDeg: number | null;
  readonly hourAngleHours: number | null;
  readonly exposureSeconds: number | null;
  readonly limitPixels: number;
}

/** Text for the person, and warnings beside it. */
export interface Planned {
  readonly text: string;
  readonly warnings: readonly string[];
}

export interface PlanMeans {
  readonly frames: FramesApart;
  readonly rests: Rests;
  readonly stars: Stars;
  progress(what: string, done: number, of: number): void;
}

const typed = <T>(value: T | null): Sourced<T> | null => (value === null ? null : { value, from: 'typed' });

/** What an axis error does to a planned run. Throws PolewardError. */
export async function budgetFor(nights: NightWork, run: RunAsked): Promise<Planned> {
  const kept = await nights.open();
  const session = kept && sessionOf(kept);
  const { altitudeErrorArcmin: altitude, azimuthErrorArcmin: azimuth, ...plan } = run;
  const radians = (arcmin: number | null): number | null => (arcmin === null ? null : arcmin * ARCMINUTE);
  const error = altitude === null && azimuth === null ? null : { altitude: radians(altitude), azimuth: radians(azimuth) };
  if (!error && !session) {
    throw new PolewardError(
      'no-session', 'No axis error is given and no night is open to take it from. Write the errors, or measure first.',
      { remedies: ['give-axis-error'] },
    );
  }
  const planned = budgetOf({
    ...plan, sensor: typed(plan.sensor), rightAscensionHours: null, start: null, refraction: true, session: error ? null : session,
    error: typed(error), given: nights.given(session),
  });
  return { text: budgetText(planned), warnings: planned.warnings.map(({ message }) => message) };
}

/** One sheet for a night, to read before dark. Throws PolewardError. */
export async function sheetFor(nights: NightWork, asked: SheetAsked, catalogue: Catalogue): Promise<Planned> {
  const sheet = prepareSheet({
    given: givenBy(nights.current(), false), date: asked.date, at: null,
    camera: {
      apertureMillimetres: typed(asked.apertureMillimetres) ?? undefined, widthPixels: typed(asked.sensor?.width ?? null) ?? undefined,
      heightPixels: typed(asked.sensor?.height ?? null) ?? undefined,
    },
    exposureSeconds: asked.exposureSeconds, precision: asked.precisionArcsec === null ? null : asked.precisionArcsec * ARCSECOND,
    payloadKilograms: asked.payloadKilograms, capacityKilograms: asked.capacityKilograms,
  }, new Date(), () => catalogue);
  const warnings = preparationWarningsText(sheet);
  return { text: preparationText(sheet, remedyWords), warnings: warnings === '' ? [] : [warnings] };
}

/** Drift, field rotation and star shape in tracked frames. Throws PolewardError. */
export async function verifyFiles(
  nights: NightWork, files: readonly File[], asked: VerifyAsked, { frames, rests, stars, progress }: PlanMeans,
): Promise<Planned> {
  const given = givenBy(nights.current(), true);
  const kept = await nights.open();
  const session = kept && sessionOf(kept);
  const found: (ShapedFrame | FrameTrouble)[] = [];
  const { files: ordered, times } = nights.times.of(files, 'picked', { ...nights.current(), nextTimes: null });
  for (const file of ordered) {
    progress('frames read', found.length, files.length);
    await rests.rest();
    found.push(timed(await frames.look('shapes', file, clockZone(given)), times, found.length));
  }
  const verified = await stars.serve((catalogue) => verifyFrames(found, null, {
    given, guiding: asked.guiding, declinationDeg: typed(asked.declinationDeg), hourAngleHours: typed(asked.hourAngleHours),
    rightAscensionHours: null, positionAngleDeg: null, mirrored: false, exposureSeconds: typed(asked.exposureSeconds),
    limitPixels: asked.limitPixels, session: session && sessionAxis(session),
  }, () => catalogue, rests.pace));
  return {
    text: verificationText(verified, remedyWords), warnings: verified.warnings.map((w) => withRemedies(w.message, w.remedies, remedyWords)),
  };
}
