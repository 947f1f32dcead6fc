import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import type { Pointing } from '../../frames/fitsPointing.js';
import { DEGREE, wrapSigned } from '../../geometry/angle.js';
import { apply } from '../../geometry/rotation.js';
import { type Vector, fromSpherical } from '../../geometry/vector.js';
import { type Lens, toDirection } from '../../identify/lens.js';
import { type FieldOrientation, axesOrientation, directionAtHourAngle, shownOrientation } from '../../run/targetPose.js';
import { type Pace, WITHOUT_REST } from '../../numeric/steps.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import type { LocalSky } from '../../sky/localSky.js';
import { focalHint } from '../given/focalHint.js';
import { pointedAt } from '../given/placeHint.js';
import { type KnownFrame, makeReference, recogniseSteps, startRecognition } from '../recognise/recognition.js';
import { driveOffOrientation } from './driveOff.js';
import type { ShapedFrame } from './shapedFrame.js';
import type { VerifyRequest } from './verifyRequest.js';

/** Where the field is. */
export interface Target extends Sourced<Vector> {
  readonly declinationDeg: number;
  /** Null without a site. */
  readonly hourAngleHours: number | null;
}

/** Where the field is and how the picture lies on it; null where that is unknown. */
export interface FieldOnSky {
  readonly target: Target | null;
  readonly orientation: (FieldOrientation & { readonly from: string }) | null;
  readonly lens: Lens | null;
  readonly scaleFrom: string;
  /** One sigma of the scale, as a share. */
  readonly scaleSigma: number;
}

/** The frames whose field it is. */
export interface FieldFrames {
  readonly frames: readonly ShapedFrame[];
  /** The reference frame, and the sky at its time. */
  readonly reference: ShapedFrame;
  readonly sky: LocalSky;
  /** The sky at the first frame, for which an hour angle is given. */
  readonly firstSky: LocalSky;
  /** With the drive off; null where there are none. */
  readonly driveOff: readonly ShapedFrame[] | null;
}

/**
 * Header values are as good as this: position angle of world coordinates and of a number given, scale of world coordinates and of lengths.
 */
const WORLD = { orientation: 0.1 * DEGREE, scale: 0.002 } as const;
const TOLD = { orientation: 1 * DEGREE, scale: 0.02 } as const;
/** From the request, world coordinates, the stars themselves, the header or frames with the drive off: whatever is available. */
export async function fieldOnSky(
  request: VerifyRequest, field: FieldFrames, catalogue: () => StarCatalogue, pace: Pace = WITHOUT_REST,
): Promise<FieldOnSky> {
  const { frames, reference, driveOff } = field;
  const pointing = reference.metadata.pointing ?? frames.find((f) => f.metadata.pointing)?.metadata.pointing ?? null;
  const target = targetGiven(request, field) ?? (pointing && targetAt(pointedAt(pointing, reference), pointing.from, field.sky));
  const scale = scaleOf(request, reference, pointing);
  const ready = (orientation: FieldOnSky['orientation']): FieldOnSky => ({
    target, orientation, scaleFrom: scale?.from ?? '', scaleSigma: scale?.sigma ?? TOLD.scale,
    lens: scale && plainLens(reference, scale.focalPixels, orientation?.mirrored ?? scale.mirrored),
  });
  const told = orientationGiven(request, reference) ?? orientationByWorld(pointing);
  if (told && target && scale) return ready(told);
  // What the person gives is used before what the stars show.
  const byStars = await fieldByStars(request, field, catalogue, pace);
  if (byStars?.lens) {
    const orientation = told ?? byStars.orientation;
    const lens = plainLens(reference, byStars.lens.focalPixels, orientation?.mirrored ?? byStars.lens.mirrored);
    return { ...byStars, orientation, lens, target: targetGiven(request, field) ?? byStars.target };
  }
  if (told) return ready(told);
  if (!driveOff) return ready(null);
  if (!target) {
    throw new PolewardError('bad-option', 'Frames with the drive off give the directions only with the target\'s declination. Add it '
      + 'with the hour angle or the right ascension.',
      { remedies: ['give-declination', 'give-hour-angle', 'give-right-ascension'] });
  }
  return ready({ ...driveOffOrientation(driveOff, reference.width, target.declinationDeg), from: 'frames with the drive off' });
}

/** The target that the person gives; null where none is. */
function targetGiven(
  { declinationDeg, hourAngleHours, rightAscensionHours }: VerifyRequest, { sky, firstSky }: FieldFrames,
): Target | null {
  if (!declinationDeg) return null;
  const declination = declinationDeg.value * DEGREE;
  if (hourAngleHours) {
    return targetAt(
      directionAtHourAngle(firstSky, declination, hourAngleHours.value * 15 * DEGREE), sources(declinationDeg, hourAngleHours), sky,
    );
  }
  if (!rightAscensionHours) return null;
  return targetAt(fromSpherical(rightAscensionHours.value * 15 * DEGREE, declination), sources(declinationDeg, rightAscensionHours), sky);
}

function sources(...values: readonly Sourced<unknown>[]): string {
  return [...new Set(values.map(({ from }) => from))].join(', ');
}

/** The scale by world coordinates, by focal length and pixel size, or by the session's camera; null where none of them gives it. */
function scaleOf(
  { given, session }: VerifyRequest, reference: ShapedFrame, pointing: Pointing | null,
): { readonly focalPixels: number; readonly from: string; readonly sigma: number; readonly mirrored: boolean } | null {
  const sameCamera = session && session.width === reference.width && session.height === reference.height ? session : null;
  const mirrored = sameCamera?.lens.mirrored ?? false;
  if (pointing?.world) {
    const [a, b, c, d] = pointing.world.matrix;
    const perPixel = Math.sqrt(Math.abs(a * d - b * c)) * DEGREE;
    if (perPixel > 0) return { focalPixels: 1 / perPixel, from: pointing.from, sigma: WORLD.scale, mirrored };
  }
  const hint = focalHint(given, reference);
  if (hint) return { focalPixels: hint.value, from: hint.from, sigma: TOLD.scale, mirrored };
  return sameCamera && { focalPixels: sameCamera.lens.focalPixels, from: 'the session\'s camera', sigma: WORLD.scale, mirrored };
}

function orientationGiven({ positionAngleDeg, mirrored }: VerifyRequest, { firstRowBottom }: ShapedFrame): FieldOnSky['orientation'] {
  return positionAngleDeg
    && { ...shownOrientation(positionAngleDeg.value, mirrored, firstRowBottom, TOLD.orientation), from: positionAngleDeg.from };
}

function orientationByWorld(pointing: Pointing | null): FieldOnSky['orientation'] {
  if (!pointing?.world) return null;
  const [eastX, eastY, northX, northY] = pointing.world.matrix;
  return { ...axesOrientation([northX, eastX], [northY, eastY], WORLD.orientation), from: pointing.from };
}

/** All of it from the stars themselves; null where they are not recognised. */
async function fieldByStars(
  { given }: VerifyRequest, { reference, sky }: FieldFrames, catalogue: () => StarCatalogue, pace: Pace,
): Promise<FieldOnSky | null> {
  const around = makeReference(sky.site, given, catalogue());
  const { known, refusal } = await pace(recogniseSteps(around, startRecognition(), reference));
  if (refusal) throw refusal;
  const found = known.get(reference);
  if (!found) return null;
  const { lens } = found.identification;
  const middle = middleOf(reference);
  const value = starsAt(found, middle.x, middle.y);
  const step = (dx: number, dy: number): [number, number] => northEast(value, starsAt(found, middle.x + dx, middle.y + dy));
  return {
    target: targetAt(value, 'its stars', sky),
    orientation: { ...axesOrientation(step(50, 0), step(0, 50), WORLD.orientation), from: 'its stars' },
    lens: plainLens(reference, lens.focalPixels, lens.mirrored), scaleFrom: 'its stars', scaleSigma: WORLD.scale,
  };
}

/** ICRS direction of a pixel of a frame whose stars are known. */
function starsAt({ identification: { lens, pose }, sky }: KnownFrame, x: number, y: number): Vector {
  return sky.fromLocal(apply(pose, toDirection(lens, x, y)));
}

function middleOf({ width, height }: ShapedFrame): { x: number; y: number } {
  return { x: (width - 1) / 2, y: (height - 1) / 2 };
}

/** A lens without distortion, centred on the picture. */
function plainLens(frame: ShapedFrame, focalPixels: number, mirrored: boolean): Lens {
  const { x, y } = middleOf(frame);
  return { focalPixels, centreX: x, centreY: y, radial: [], mirrored };
}

/** From a direction to another near it: north and east components, radians. */
export function northEast(from: Vector, to: Vector): [number, number] {
  const ra = Math.atan2(from[1], from[0]), dec = Math.asin(Math.max(-1, Math.min(1, from[2])));
  const east: Vector = [-Math.sin(ra), Math.cos(ra), 0];
  const north: Vector = [-Math.sin(dec) * Math.cos(ra), -Math.sin(dec) * Math.sin(ra), Math.cos(dec)];
  const along = (v: Vector): number => to[0] * v[0] + to[1] * v[1] + to[2] * v[2];
  return [along(north), along(east)];
}

/** A target at an ICRS direction: its declination, and its hour angle where the site is known. */
function targetAt(value: Vector, from: string, sky: LocalSky): Target {
  const declinationDeg = Math.asin(Math.max(-1, Math.min(1, value[2]))) / DEGREE;
  if (!sky.site) return { value, from, declinationDeg, hourAngleHours: null };
  const [east, north, up] = sky.toLocal(value);
  const { latitude } = sky.site;
  const hourAngle = wrapSigned(Math.atan2(-east, up * Math.cos(latitude) - north * Math.sin(latitude)));
  return { value, from, declinationDeg, hourAngleHours: hourAngle / DEGREE / 15 };
}
