import { PolewardError } from '../error.js';
import type { Warning } from '../axis/warning.js';
import { axisWithError } from '../axis/axisError.js';
import { ARCSECOND, DEGREE, wrapSigned } from '../geometry/angle.js';
import { apply } from '../geometry/rotation.js';
import { type Vector, fromSpherical } from '../geometry/vector.js';
import type { Sourced } from '../frames/frame.js';
import type { Pointing } from '../frames/fitsPointing.js';
import { readFrame } from '../node/readFrame.js';
import { horizontal } from '../axis/axisError.js';
import { type Lens, toDirection } from '../identify/lens.js';
import { type FieldGeometry } from '../run/cameraTurns.js';
import { type FieldShape, fieldShape, type MomentsAt } from '../run/fieldShape.js';
import { type FieldDrift, type Motion, expectedMotion, fieldDrift } from '../run/fieldDrift.js';
import { type Guiding, type ImpliedAxis, impliedAxis } from '../run/impliedAxis.js';
import { elevatedPole } from '../run/misalignedMount.js';
import { type RegisteredField, registerField } from '../run/registerField.js';
import { type FirstFix, type RunVerdict, runVerdict } from '../run/runVerdict.js';
import { type FieldOrientation, axesOrientation, directionAtHourAngle, shownOrientation, targetPose } from '../run/targetPose.js';
import { type TrailShape, trailShape } from '../run/trailShape.js';
import { type SessionAxis, sessionAxis } from './sessionAxis.js';
import { type LocalSky, makeLocalSky } from '../sky/localSky.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';
import { detectStars } from '../stars/detectStars.js';
import { starShapes } from '../stars/starShapes.js';
import type { DetectedStar } from '../stars/star.js';
import { embeddedCatalogue } from './embeddedCatalogue.js';
import { type InForce, clockCorrected } from './inForce.js';
import { breathe } from './interrupt.js';
import { progress } from './progress.js';
import { focalHint, recognise, startRecognition } from './recognition.js';
import { setAside } from './setAside.js';
import { type SiteInForce, siteInForce } from './siteInForce.js';
import { pictureWarnings } from './pictureWarnings.js';
import type { FrameStars, FrameTrouble } from './starsOfFrame.js';
import { tooFew } from './tooFew.js';
import type { VerifyOptions } from './verify.js';

/** One frame with the shapes of its stars. */
export interface ShapedFrame extends FrameStars {
  readonly shape: FieldShape;
  readonly moments: readonly MomentsAt[];
}

/** The axis' parts in what was measured. */
export interface DriftParts {
  /** What the axis error makes, what refraction makes even on the right axis, and what is left. */
  readonly axis: Motion;
  readonly air: Motion;
  readonly rest: Motion;
  readonly axisFrom: 'session' | 'these frames';
}

/** How the implied axis and the session's differ, in sigmas of the difference. */
export interface Comparison {
  readonly session: SessionAxis;
  readonly altitude: number;
  readonly azimuth: number;
  /** Along the combination that these frames know best. */
  readonly best: number;
}

/** All that was found out of a tracked run. */
export interface Verified {
  readonly frames: readonly ShapedFrame[];
  readonly left: readonly FrameTrouble[];
  readonly field: RegisteredField;
  readonly drift: FieldDrift;
  readonly guiding: Guiding;
  readonly exposureSeconds: Sourced<number> | null;
  readonly arcsecPerPixel: Sourced<number> | null;
  readonly site: SiteInForce | null;
  readonly target: (Sourced<Vector> & { readonly declinationDeg: number; readonly hourAngleHours: number | null }) | null;
  readonly orientation: (FieldOrientation & { readonly from: string }) | null;
  readonly implied: ImpliedAxis | null;
  /** What is missing for the implied axis. */
  readonly missing: readonly string[];
  readonly parts: DriftParts | null;
  readonly comparison: Comparison | null;
  readonly shape: FieldShape;
  readonly trail: TrailShape | null;
  readonly limitPixels: number;
  readonly cornerPixels: number | null;
  readonly driftPixels: number | null;
  readonly verdict: RunVerdict & { readonly fix: FirstFix | null };
  readonly warnings: readonly Warning[];
}

const MOST_STARS = 500;
/** Header values are as good as this: position angle of world coordinates and of a number given, scale of world coordinates and of lengths. */
const WORLD = { orientation: 0.1 * DEGREE, scale: 0.002 } as const;
const TOLD = { orientation: 1 * DEGREE, scale: 0.02 } as const;
const DRIVE_OFF_SIGMA = 0.3 * DEGREE;
const POINTING = 0.2 * DEGREE;

/** Reads and registers tracked frames, and works out all that they tell. Throws PolewardError where they tell nothing. */
export async function verifyFrames(files: readonly string[], options: VerifyOptions & Partial<InForce>): Promise<Verified> {
  if (files.length < 2) throw new PolewardError('too-few-frames', 'One frame shows no drift. Give two or more of the same field, taken some minutes apart.');
  if (options.hourAngle !== undefined && options.rightAscension !== undefined) {
    throw new PolewardError('bad-option', 'The target was given by hour angle and by right ascension. Give one of --hour-angle and --right-ascension.');
  }
  if ((options.hourAngle ?? options.rightAscension) !== undefined && options.declination === undefined) {
    throw new PolewardError('bad-option', 'A target needs its declination too. Add --declination, or leave the target to the frames.');
  }
  if (options.mirrored && options.positionAngle === undefined) {
    throw new PolewardError('bad-option', '--mirrored says something of --position-angle, which is not there. Give both.');
  }
  const { shaped, left } = await shapedFrames(files, options);
  const size = shaped[0];
  if (!size || shaped.length < 2) throw tooFew(shaped.length, left);
  const registered = registerField(shaped.map((f) => f.stars), size.width, size.height);
  if (!registered) throw new PolewardError('no-stars', 'No two of the frames share a star field. Give frames of one field that overlap, with at least four stars in common.');
  const field = withoutTurned(registered);
  shaped.forEach((f, i) => {
    if (field.frames[i]) return;
    left.push({ file: f.file, code: 'no-stars', message: registered.frames[i]
      ? `${f.file} is turned by ${Math.abs(wrapSigned(registered.frames[i].fit.rotation) / DEGREE).toFixed(0)}° against the others, as after a meridian flip. It was left out; verify such frames by themselves.`
      : `${f.file} shares too few stars with the others: cloud, another field, another camera, or a camera turned round. It was left out.` });
  });
  const times = shaped.map((f) => f.metadata.midExposure!.value.getTime());
  const drift = fieldDrift(field, times);
  if (!drift) throw new PolewardError('no-time', 'The frames that share a field were all taken at the same time, so that nothing can have drifted. Check their times, or give frames some minutes apart.');

  const session = options.session === false ? null : sessionAxis(options.session, files[0]!);
  const exposureSeconds = exposureOf(options, shaped);
  const gaps = drift.seconds.slice(1).map((t, k) => t - drift.seconds[k]!).sort((a, b) => a - b);
  const gap = gaps[gaps.length >> 1]!;
  if (exposureSeconds && exposureSeconds.value > 1.1 * gap + 1) {
    throw new PolewardError('bad-option', `An exposure of ${exposureSeconds.value} s (${exposureSeconds.from}) is longer than the ${gap.toFixed(0)} s from frame to frame. Give the right one with --exposure, or check the frames' times.`);
  }
  const site = siteInForce(options, shaped, session?.site ?? null);
  const skyOf = (f: ShapedFrame): LocalSky => makeLocalSky(f.metadata.midExposure!.value, site?.site ?? null);
  const skies = shaped.map(skyOf);
  const reference = shaped[field.reference]!;
  const found = await fieldOnSky(options, shaped, reference, skies[field.reference]!, site, session);
  const { target, orientation, lens, scaleSigma } = found;
  if (target && site && horizontal(skies[field.reference]!.toLocal(target.value)).altitude < 0) {
    throw new PolewardError('bad-option', `The target is ${(-horizontal(skies[field.reference]!.toLocal(target.value)).altitude / DEGREE).toFixed(0)}° below the horizon at the time of the frames. Check the target (${target.from}), the site's longitude and the frames' times.`);
  }
  const guiding: Guiding = options.guided ? 'guided' : options.unguided ? 'unguided' : 'unknown';
  const missing = [
    ...(site ? [] : ['the site (--latitude --longitude)']), ...(target ? [] : ['the target (--declination with --hour-angle or --right-ascension)']),
    ...(orientation ? [] : ['which way is north in the picture (--position-angle, or --drive-off)']), ...(lens ? [] : ['the scale (--focal-length --pixel-size)']),
  ];
  let implied: ImpliedAxis | null = null;
  let geometry: FieldGeometry | null = null;
  if (site && target && orientation && lens) {
    const hemisphere = elevatedPole(site.site.latitude);
    geometry = { hemisphere, skies, lens, pose: targetPose(skies[field.reference]!, target.value, orientation) };
    const known = { orientation: orientation.sigma, scale: scaleSigma, pointing: POINTING, air: site.site.airKnown ? 0.01 : 0.05 };
    implied = impliedAxis(field, geometry, site.site, drift.stretches, guiding, known, options.aim);
  }
  const comparison = implied && session && site ? compare(implied, session, skies[field.reference]!, geometry!.hemisphere) : null;
  const parts = implied ? partsOf(field, drift, implied, comparison, skies[field.reference]!, guiding) : null;
  const shape = fieldShape(drift.frames.flatMap((i) => shaped[i]!.moments), size.width, size.height);
  const verdictFacts = facts();
  const warnings: Warning[] = [...left.map(({ message }): Warning => ({ code: 'frame-skipped', message })), ...pictureWarnings(shaped)];
  return {
    frames: shaped, left, field, drift, guiding, exposureSeconds, site, target, orientation, implied, missing, parts, comparison, shape,
    arcsecPerPixel: lens && { value: 1 / (lens.focalPixels * ARCSECOND), from: found.scaleFrom },
    trail: verdictFacts.trail, limitPixels: options.limit, cornerPixels: verdictFacts.cornerPixels, driftPixels: verdictFacts.driftPixels,
    verdict: runVerdict(verdictFacts), warnings,
  };

  function facts(): Parameters<typeof runVerdict>[0] & { trail: TrailShape | null } {
    const seconds = exposureSeconds?.value ?? null;
    const { x, y, rotation } = drift!;
    const driftPixels = seconds === null ? null : Math.hypot(x.rate, y.rate) * seconds;
    const cornerPixels = seconds === null ? null : (Math.abs(rotation.rate) * seconds * Math.hypot(size!.width, size!.height)) / 2;
    const trail = seconds !== null && shape.whole ? trailShape(shape.whole, x.rate * seconds, y.rate * seconds) : null;
    const corners = Object.entries(shape.regions).flatMap(([name, r]) => (r && name !== 'centre' ? [r] : []));
    const worst = corners.sort((a, b) => b.elongation - a.elongation)[0] ?? null;
    const along = orientation ? skyScatter(drift!, orientation) : null;
    return {
      limitPixels: options.limit, exposureSeconds: seconds, driftPixels, cornerPixels, trail,
      axisShare: parts ? dotShare(parts.axis, { x: x.rate, y: y.rate, rotation: 0 }) : null,
      notTracking: lens !== null && Math.hypot(x.rate, y.rate) / lens.focalPixels > 0.4 * SIDEREAL_RATE * (target ? Math.max(0.02, Math.cos(target.declinationDeg * DEGREE)) : 1),
      wanderPixels: Math.hypot(x.scatter, y.scatter) / (drift!.x.freedom > 2 ? 1 : 2),
      wanderAlong: along, guided: guiding === 'guided', framesGiven: files.length, framesUsed: drift!.frames.length,
      elongation: shape.whole?.elongation ?? null, elongationSigma: shape.whole?.elongationSigma ?? 0, elongationByDrift: trail?.share ?? 0,
      worstCorner: worst && { elongation: worst.elongation, sigma: worst.elongationSigma },
      middle: shape.regions.centre && { elongation: shape.regions.centre.elongation, sigma: shape.regions.centre.elongationSigma },
    };
  }
}

/** No axis error turns a field by this much in a run. */
const TURNED = 5 * DEGREE;

/** Leaves out frames that are turned against most: taken after a meridian flip, or the camera was moved. */
function withoutTurned(field: RegisteredField): RegisteredField {
  const rotations = field.frames.flatMap((f) => (f ? [f.fit.rotation] : []));
  const near = (a: number, b: number): boolean => Math.abs(wrapSigned(a - b)) < TURNED;
  const fellows = (a: number): number => rotations.filter((b) => near(a, b)).length;
  const common = rotations.reduce((best, a) => (fellows(a) > fellows(best) ? a : best), rotations[0]!);
  return { ...field, frames: field.frames.map((f) => (f && near(f.fit.rotation, common) ? f : null)) };
}

/** Reads each frame, its stars and their shapes. */
async function shapedFrames(files: readonly string[], options: VerifyOptions & Partial<InForce>): Promise<{ shaped: ShapedFrame[]; left: FrameTrouble[] }> {
  const read: ShapedFrame[] = [];
  const left: FrameTrouble[] = [];
  for (const [i, file] of files.entries()) {
    progress('frames read', i, files.length);
    await breathe();
    try {
      const frame = await readFrame(file, options.utcOffset === undefined ? {} : { utcOffsetMinutes: options.utcOffset });
      const { image, pixelOffset: shift } = frame;
      const detection = detectStars(image, { limit: MOST_STARS });
      const moments = starShapes(image, detection.stars).map((m) => ({ ...m, x: m.x + shift, y: m.y + shift }));
      read.push({
        file, width: image.width, height: image.height, firstRowBottom: frame.firstRowBottom, metadata: frame.metadata, notes: frame.notes,
        ...(frame.standIn === null ? {} : { standIn: frame.standIn }),
        stars: detection.stars.map((s): DetectedStar => ({ ...s, x: s.x + shift, y: s.y + shift })),
        background: detection.background, noise: detection.noise, fwhm: detection.fwhm,
        moments, shape: fieldShape(moments, image.width, image.height),
      });
    } catch (error) {
      if (!(error instanceof PolewardError)) throw error;
      left.push({ file, code: error.code, message: error.message });
    }
  }
  const corrected = read.map((f) => clockCorrected(f, options) as ShapedFrame);
  const aside = setAside(corrected);
  const shaped = corrected.filter((f) => {
    const trouble = aside.get(f) ?? unusable(f);
    if (trouble) left.push(trouble);
    return !trouble;
  });
  return { shaped, left };
}

function unusable({ file, metadata, stars }: ShapedFrame): FrameTrouble | null {
  if (!metadata.midExposure) return { file, code: 'no-time', message: `${file} does not say when it was taken, and drift needs the time. Save frames with the time in their header.` };
  if (stars.length < 3) return { file, code: 'no-stars', message: `${file} shows fewer than three stars. Check focus, lens cap and clouds, or expose longer.` };
  return null;
}

function exposureOf(options: VerifyOptions, frames: readonly ShapedFrame[]): Sourced<number> | null {
  if (options.exposure !== undefined) return { value: options.exposure, from: '--exposure' };
  const found = frames.find((f) => (f.metadata.exposureSeconds?.value ?? 0) > 0)?.metadata.exposureSeconds ?? null;
  return found;
}

interface FieldOnSky {
  readonly target: Verified['target'];
  readonly orientation: Verified['orientation'];
  readonly lens: Lens | null;
  readonly scaleFrom: string;
  readonly scaleSigma: number;
}

/** From options, world coordinates, the header, stars known by name (near a pole) or frames with the drive off: what there is. */
async function fieldOnSky(
  options: VerifyOptions & Partial<InForce>, frames: readonly ShapedFrame[], reference: ShapedFrame, sky: LocalSky, site: SiteInForce | null, session: SessionAxis | null,
): Promise<FieldOnSky> {
  const first = frames[0]!;
  const pointing = reference.metadata.pointing ?? frames.find((f) => f.metadata.pointing)?.metadata.pointing ?? null;
  const centre = { centreX: (reference.width - 1) / 2, centreY: (reference.height - 1) / 2 };
  const lensOf = (focalPixels: number, mirrored: boolean): Lens => ({ focalPixels, ...centre, radial: [], mirrored });
  const named = (value: Vector, from: string): Verified['target'] => ({ value, from, ...placeAt(value, sky) });
  let target: Verified['target'] = null;
  if (options.declination !== undefined && options.hourAngle !== undefined) {
    const firstSky = makeLocalSky(first.metadata.midExposure!.value, site?.site ?? null);
    target = named(directionAtHourAngle(firstSky, options.declination * DEGREE, options.hourAngle * 15 * DEGREE), '--declination, --hour-angle');
  } else if (options.declination !== undefined && options.rightAscension !== undefined) {
    target = named(fromSpherical(options.rightAscension * 15 * DEGREE, options.declination * DEGREE), '--declination, --right-ascension');
  } else if (pointing) target = named(pointedAt(pointing, reference), pointing.from);

  const hint = focalHint(options, reference);
  const world = pointing?.world ?? null;
  const worldScale = world && Math.sqrt(Math.abs(world.matrix[0] * world.matrix[3] - world.matrix[1] * world.matrix[2])) * DEGREE;
  const sameCamera = session && session.width === reference.width && session.height === reference.height ? session : null;
  const known = worldScale ? { value: 1 / worldScale, from: pointing!.from, sigma: WORLD.scale }
    : hint ? { ...hint, sigma: TOLD.scale }
      : sameCamera ? { value: sameCamera.lens.focalPixels, from: 'the session\'s camera', sigma: WORLD.scale } : null;
  const ready = (orientation: FieldOrientation | null, from: string): FieldOnSky => ({
    target, orientation: orientation && { ...orientation, from }, lens: known && lensOf(known.value, orientation?.mirrored ?? sameCamera?.lens.mirrored ?? false),
    scaleFrom: known?.from ?? '', scaleSigma: known?.sigma ?? TOLD.scale,
  });
  if (options.positionAngle !== undefined) {
    return ready(shownOrientation(options.positionAngle, options.mirrored ?? false, reference.firstRowBottom, TOLD.orientation), '--position-angle');
  }
  if (world) {
    const [eastX, eastY, northX, northY] = world.matrix;
    return ready(axesOrientation([northX, eastX], [northY, eastY], WORLD.orientation), pointing!.from);
  }
  if (options.driveOff) {
    if (!target) throw new PolewardError('bad-option', 'Frames with the drive off tell the directions only with the target\'s declination. Add --declination with --hour-angle or --right-ascension.');
    return ready(await driveOffOrientation(options, reference, target.declinationDeg), '--drive-off');
  }
  // Near a pole the stars themselves tell.
  if (!target || Math.abs(target.declinationDeg) > 50) {
    const recognised = recognise(startRecognition(site?.site ?? null, options, embeddedCatalogue()), reference);
    if (recognised) {
      const { identification, sky: itsSky } = recognised;
      const { lens, pose } = identification;
      const at = (x: number, y: number): Vector => itsSky.fromLocal(apply(pose, toDirection(lens, x, y)));
      const value = at(centre.centreX, centre.centreY);
      const step = (dx: number, dy: number): [number, number] => northEast(value, at(centre.centreX + dx, centre.centreY + dy));
      return {
        target: named(value, 'its stars'), orientation: { ...axesOrientation(step(50, 0), step(0, 50), WORLD.orientation), from: 'its stars' },
        lens: lensOf(lens.focalPixels, lens.mirrored), scaleFrom: 'its stars', scaleSigma: WORLD.scale,
      };
    }
  }
  return ready(null, '');
}

/** From a direction to another near it: north and east components, radians. */
function northEast(from: Vector, to: Vector): [number, number] {
  const ra = Math.atan2(from[1], from[0]), dec = Math.asin(Math.max(-1, Math.min(1, from[2])));
  const east: Vector = [-Math.sin(ra), Math.cos(ra), 0];
  const north: Vector = [-Math.sin(dec) * Math.cos(ra), -Math.sin(dec) * Math.sin(ra), Math.cos(dec)];
  const along = (v: Vector): number => to[0] * v[0] + to[1] * v[1] + to[2] * v[2];
  return [along(north), along(east)];
}

/** ICRS direction of the picture's middle by the header. */
function pointedAt({ raDeg, decDeg, world }: Pointing, { width, height }: ShapedFrame): Vector {
  const reference = fromSpherical(raDeg * DEGREE, decDeg * DEGREE);
  if (!world) return reference;
  const x = (width - 1) / 2 - world.x, y = (height - 1) / 2 - world.y;
  const xi = (world.matrix[0] * x + world.matrix[1] * y) * DEGREE, eta = (world.matrix[2] * x + world.matrix[3] * y) * DEGREE;
  const ra = raDeg * DEGREE, dec = decDeg * DEGREE;
  const v: Vector = [
    reference[0] - xi * Math.sin(ra) - eta * Math.sin(dec) * Math.cos(ra),
    reference[1] + xi * Math.cos(ra) - eta * Math.sin(dec) * Math.sin(ra),
    reference[2] + eta * Math.cos(dec),
  ];
  const length = Math.hypot(...v);
  return [v[0] / length, v[1] / length, v[2] / length];
}

/** Declination, and hour angle where the site is known, of an ICRS direction. */
function placeAt(icrs: Vector, sky: LocalSky): { declinationDeg: number; hourAngleHours: number | null } {
  const declinationDeg = Math.asin(Math.max(-1, Math.min(1, icrs[2]))) / DEGREE;
  if (!sky.site) return { declinationDeg, hourAngleHours: null };
  const [east, north, up] = sky.toLocal(icrs);
  const { latitude } = sky.site;
  return { declinationDeg, hourAngleHours: wrapSigned(Math.atan2(-east, up * Math.cos(latitude) - north * Math.sin(latitude))) / DEGREE / 15 };
}

/** With the drive off the stars go west, and the picture turns with them: that tells the parity. */
async function driveOffOrientation(options: VerifyOptions & Partial<InForce>, reference: ShapedFrame, declinationDeg: number): Promise<FieldOrientation> {
  const { shaped } = await shapedFrames(options.driveOff!, options);
  const [a, b] = [...shaped].sort((p, q) => p.metadata.midExposure!.value.getTime() - q.metadata.midExposure!.value.getTime());
  if (!a || !b || a.width !== reference.width) throw new PolewardError('bad-option', 'The frames with the drive off can\'t be used: two of the same camera are needed, with their times. Take two short ones, some seconds apart.');
  const field = registerField([a.stars, b.stars], a.width, a.height);
  const drift = field && fieldDrift(field, [a, b].map((f) => f.metadata.midExposure!.value.getTime()));
  if (!drift || Math.hypot(drift.x.rate, drift.y.rate) * drift.seconds.at(-1)! < 10) {
    throw new PolewardError('bad-option', 'The frames with the drive off show no drift by which west could be told. Let some seconds pass between them, the drive off, so that stars move by 10 pixels and more.');
  }
  const expected = SIDEREAL_RATE * Math.sin(declinationDeg * DEGREE);
  const { rate, rateSigma } = drift.rotation;
  if (Math.abs(Math.abs(rate) - Math.abs(expected)) > 0.3 * Math.abs(expected) + 5 * rateSigma || Math.abs(expected) < 5 * rateSigma) {
    throw new PolewardError('bad-option', 'The frames with the drive off don\'t turn as a field at this declination does, so they can\'t tell whether the picture is mirrored. Give --position-angle, and --mirrored where it is.');
  }
  // Where x is right and y down as from below, the field turns counter-clockwise about the north pole: from x toward y is clockwise.
  const mirrored = -Math.sign(rate) !== Math.sign(expected);
  const west = Math.atan2(drift.y.rate, drift.x.rate);
  // West stands at 270°; from x to it the position angle changes by minus the angle where the picture looks like the sky.
  return { rowAngle: 1.5 * Math.PI + (mirrored ? -west : west), mirrored, sigma: DRIVE_OFF_SIGMA };
}

function compare(implied: ImpliedAxis, session: SessionAxis, sky: LocalSky, hemisphere: 1 | -1): Comparison {
  const axis = axisWithError(sky.truePole(hemisphere), session.altitude, session.azimuth);
  const altitude = implied.fromTruePole.altitude - session.altitude, azimuth = implied.fromTruePole.azimuth - session.azimuth;
  const cos = Math.cos(horizontal(axis).altitude);
  const { up, east, sigma } = implied.combinations[0];
  const along = up * altitude + east * azimuth * cos;
  return {
    session,
    altitude: altitude / Math.hypot(implied.sigma.altitude, session.altitudeSigma),
    azimuth: azimuth / Math.hypot(implied.sigma.azimuth, session.azimuthSigma),
    best: along / Math.hypot(sigma, up * session.altitudeSigma, east * session.azimuthSigma * cos),
  };
}

function partsOf(
  field: RegisteredField, drift: FieldDrift, implied: ImpliedAxis, comparison: Comparison | null, sky: LocalSky, guiding: Guiding,
): DriftParts | null {
  const first = drift.frames[0]!, last = drift.frames.at(-1)!;
  const { geometry } = implied;
  if (!comparison && guiding !== 'unguided') return null;
  const axis = comparison
    ? axisWithError(sky.truePole(geometry.hemisphere), comparison.session.altitude, comparison.session.azimuth) : implied.axis;
  const air = expectedMotion(field, geometry, sky.refractedPole(geometry.hemisphere), first, last);
  const both = expectedMotion(field, geometry, axis, first, last);
  return {
    air, axis: { x: both.x - air.x, y: both.y - air.y, rotation: both.rotation - air.rotation },
    rest: { x: drift.x.rate - both.x, y: drift.y.rate - both.y, rotation: drift.rotation.rate - both.rotation },
    axisFrom: comparison ? 'session' : 'these frames',
  };
}

/** Share of a motion that lies in a part of it. */
function dotShare(part: Motion, all: Motion): number {
  const square = all.x ** 2 + all.y ** 2;
  return square > 0 ? (part.x * all.x + part.y * all.y) / square : 0;
}

/** North and east components of a pixel vector. */
export function onSky({ rowAngle, mirrored }: FieldOrientation, x: number, y: number): { north: number; east: number } {
  const columnAngle = rowAngle + (mirrored ? Math.PI / 2 : -Math.PI / 2);
  return { north: x * Math.cos(rowAngle) + y * Math.cos(columnAngle), east: x * Math.sin(rowAngle) + y * Math.sin(columnAngle) };
}

/** Scatter of the field about its drift along right ascension and declination, pixels. */
export function skyScatter(drift: FieldDrift, orientation: FieldOrientation): { rightAscension: number; declination: number } {
  let east2 = 0, north2 = 0;
  drift.x.residuals.forEach((x, k) => {
    const { north, east } = onSky(orientation, x, drift.y.residuals[k]!);
    east2 += east * east;
    north2 += north * north;
  });
  const freedom = Math.max(1, drift.x.freedom);
  return { rightAscension: Math.sqrt(east2 / freedom), declination: Math.sqrt(north2 / freedom) };
}

