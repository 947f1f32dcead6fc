import type { Aim } from '../../axis/aim.js';
import { horizontal } from '../../axis/axisError.js';
import type { Warning } from '../../axis/warning.js';
import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import { ARCSECOND, DEGREE } from '../../geometry/angle.js';
import type { Remedy } from '../../remedy.js';
import type { FieldDrift } from '../../run/fieldDrift.js';
import { type FieldShape, fieldShape } from '../../run/fieldShape.js';
import { type Guiding, type ImpliedAxis, impliedAxis } from '../../run/impliedAxis.js';
import { elevatedPole } from '../../run/misalignedMount.js';
import type { RegisteredField } from '../../run/registerField.js';
import { type RunVerdict, runVerdict } from '../../run/runVerdict.js';
import { targetPose } from '../../run/targetPose.js';
import { type Pace, WITHOUT_REST } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { type LocalSky, makeLocalSky } from '../../sky/localSky.js';
import { type PlacedAxis, placeWarnings } from '../given/placeWarnings.js';
import { type SiteInForce, siteInForce } from '../given/siteInForce.js';
import type { FrameTrouble } from '../recognise/frameStars.js';
import { pictureWarnings } from '../recognise/pictureWarnings.js';
import { type Comparison, type DriftParts, compareAxes, driftParts } from './axisParts.js';
import { type FieldOnSky, type Target, fieldOnSky } from './fieldOnSky.js';
import { type ExposureTrail, exposureTrail, runFacts } from './runFacts.js';
import { type ShapedFrame, sortFrames } from './shapedFrame.js';
import { type TrackedRun, exposureOf, trackedRun } from './trackedRun.js';
import { type VerifyRequest, checkRequest } from './verifyRequest.js';

/** Something that must be known for the implied axis, and its remedy. */
export interface Missing {
  readonly what: string;
  readonly remedies: readonly Remedy[];
}

/** All that follows from a tracked run. */
export interface Verified extends ExposureTrail {
  readonly frames: readonly ShapedFrame[];
  readonly field: RegisteredField;
  readonly drift: FieldDrift;
  readonly guiding: Guiding;
  readonly exposureSeconds: Sourced<number> | null;
  readonly arcsecPerPixel: Sourced<number> | null;
  readonly site: SiteInForce | null;
  readonly target: Target | null;
  readonly orientation: FieldOnSky['orientation'];
  readonly implied: ImpliedAxis | null;
  readonly missing: readonly Missing[];
  readonly parts: DriftParts | null;
  readonly comparison: Comparison | null;
  readonly shape: FieldShape;
  readonly limitPixels: number;
  readonly verdict: RunVerdict;
  readonly warnings: readonly Warning[];
}

/** One-sigma error of the target's position, radians. */
const POINTING = 0.2 * DEGREE;
/** Unknown share of the refraction, with pressure or temperature given and without. */
const AIR = { given: 0.01, standard: 0.05 } as const;

/**
 * Registers the frames of a tracked run and computes all that they show.
 *
 * @param found two or more frames of one field, or why they can't be used
 * @param driveOff frames with the drive off; null where there are none
 * @param catalogue called where stars have to be recognised
 * @param pace of the search for stars, which may take seconds
 * @throws PolewardError where the frames show nothing
 */
export async function verifyFrames(
  found: readonly (ShapedFrame | FrameTrouble)[], driveOff: readonly (ShapedFrame | FrameTrouble)[] | null, request: VerifyRequest,
  catalogue: () => StarCatalogue, pace: Pace = WITHOUT_REST,
): Promise<Verified> {
  const { given, guiding, limitPixels, session } = request;
  if (found.length < 2) throw new PolewardError(
    'too-few-frames', 'One frame shows no drift. Give two or more of the same field, taken some minutes apart.',
  );
  checkRequest(request);
  const run = trackedRun(sortFrames(found, given));
  const { frames, field, drift, left } = run;
  const exposureSeconds = exposureOf(request.exposureSeconds, run);
  const site = siteInForce(given, frames, session?.site ?? null);
  const skies = frames.map((f) => makeLocalSky(f.metadata.midExposure!.value, site?.site ?? null));
  const sky = skies[field.reference]!;
  const onSky = await fieldOnSky(request, {
    frames, sky, reference: frames[field.reference]!, firstSky: skies[0]!, driveOff: driveOff && sortFrames(driveOff, given).shaped,
  }, catalogue, pace);
  if (onSky.target && site) requireAbove(onSky.target, sky);
  const implied = site && axisBy(run, onSky, skies, site, request);
  const comparison = implied && session && compareAxes(implied, session, sky);
  const parts = implied && driftParts(field, drift, implied, session, sky, guiding);
  const shape = fieldShape(drift.frames.flatMap((i) => frames[i]!.moments), field.width, field.height);
  const made = exposureTrail(run, shape, exposureSeconds?.value ?? null);
  const { target, orientation, lens, scaleFrom } = onSky;
  return {
    frames, field, drift, guiding, exposureSeconds, site, target, orientation, implied, parts, comparison, shape, limitPixels, ...made,
    missing: missingFor(site, onSky),
    arcsecPerPixel: lens && { value: 1 / (lens.focalPixels * ARCSECOND), from: scaleFrom },
    verdict: runVerdict(runFacts(run, onSky, parts, shape, made, {
      guiding, limitPixels, exposureSeconds: exposureSeconds?.value ?? null, framesGiven: found.length,
    })),
    warnings: [
      ...left.map(({ message, remedies }): Warning => ({ code: 'frame-skipped', message, ...(remedies ? { remedies } : {}) })),
      ...pictureWarnings(frames),
      ...(site ? placeWarnings(axisPlaced(implied, given.aim), sky, site, given, frames, session?.site ?? null) : []),
      ...(session?.damage ?? []),
    ],
  };
}

function axisPlaced(implied: ImpliedAxis | null, aim: Aim): PlacedAxis | null {
  return implied && { axis: implied.axis, aim, hemisphere: implied.geometry.hemisphere };
}

function requireAbove({ value, from }: Target, sky: LocalSky): void {
  const { altitude } = horizontal(sky.toLocal(value));
  if (altitude >= 0) return;
  throw new PolewardError(
    'bad-option',
    `The target is ${(-altitude / DEGREE).toFixed(0)}° below the horizon at the time of the frames. Check the target (${from}), the site's `
      + `longitude and the frames' times.`,
  );
}

/** The axis error that the frames imply; null where something is missing for it. */
function axisBy(
  { field, drift }: TrackedRun, { target, orientation, lens, scaleSigma }: FieldOnSky, skies: readonly LocalSky[], { site }: SiteInForce,
  { guiding, given }: VerifyRequest,
): ImpliedAxis | null {
  if (!target || !orientation || !lens) return null;
  const geometry = {
    hemisphere: elevatedPole(site.latitude), skies, lens, pose: targetPose(skies[field.reference]!, target.value, orientation),
  };
  const known = { orientation: orientation.sigma, scale: scaleSigma, pointing: POINTING, air: site.airKnown ? AIR.given : AIR.standard };
  return impliedAxis(field, geometry, site, drift.stretches, guiding, known, given.aim);
}

function missingFor(site: SiteInForce | null, { target, orientation, lens }: FieldOnSky): Missing[] {
  const needed: [unknown, string, readonly Remedy[]][] = [
    [site, 'the site', ['give-site']],
    [target, 'the target', ['give-declination', 'give-hour-angle', 'give-right-ascension']],
    [orientation, 'which way is north in the picture', ['give-position-angle', 'give-drive-off']],
    [lens, 'the scale', ['give-focal-length', 'give-pixel-size']],
  ];
  return needed.filter(([value]) => !value).map(([, what, remedies]) => ({ what, remedies }));
}
