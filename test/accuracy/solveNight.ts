/** Solves an invented night as `measure` does, in this process, and beside it by the reference fit, which knows which star is which. */
import { axisError, axisWithError, horizontal } from '../../src/axis/axisError.js';
import { axisFromPoses } from '../../src/axis/axisFromPoses.js';
import { jointFit } from '../../src/axis/jointFit.js';
import { modelAbout } from '../../src/axis/mountModel.js';
import { collectSightings } from '../../src/axis/sightings.js';
import type { Aim } from '../../src/axis/axisResult.js';
import type { AxisFrame } from '../../src/axis/estimateMount.js';
import { type AxisMeasurement, measureAxis } from '../../src/axis/measureAxis.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { ARCMINUTE, ARCSECOND } from '../../src/geometry/angle.js';
import type { Vector } from '../../src/geometry/vector.js';
import { type IdentifiedStar, type Identification, identifyFrame } from '../../src/identify/identifyFrame.js';
import type { SearchMemory } from '../../src/identify/searchPose.js';
import { type CapStars, type StarCap, hemisphereStars, starCap } from '../../src/identify/starCap.js';
import { type FrameTruth, planNight, renderFrame } from '../../src/simulate/night.js';
import type { Hemisphere, LocalSky } from '../../src/sky/localSky.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { type Detection, detectStars } from '../../src/stars/detectStars.js';
import type { StudyNight } from './nights.js';

export interface AimErrors {
  readonly separation: { readonly error: number; readonly sigma: number };
  readonly altitude: { readonly error: number; readonly sigma: number };
  readonly azimuth: { readonly error: number; readonly sigma: number };
}

export interface SolvedNight {
  readonly night: StudyNight;
  /** Null where it could not be measured, with why. */
  readonly measurement: AxisMeasurement | null;
  readonly why: string;
  /** How far the axis found is from the true one as seen from the refracted pole, radians: the angle on the sky. */
  readonly miss: number;
  /** Errors from the pole aimed at, found minus true, with the sigmas given: radians. */
  readonly aims: Readonly<Record<Aim, AimErrors>>;
  /** The same of the reference fit, which knows which star is which and the true lens; null where it has too few stars. */
  readonly referenceMiss: number | null;
  readonly identified: readonly number[];
  readonly milliseconds: number;
}

const halves = new Map<Hemisphere, CapStars>();

function half(hemisphere: Hemisphere): CapStars {
  let stars = halves.get(hemisphere);
  if (!stars) halves.set(hemisphere, (stars = hemisphereStars(embeddedCatalogue(), hemisphere)));
  return stars;
}

export function solveNight(night: StudyNight, hinted = true): SolvedNight {
  const { plan, saidSite } = night;
  const hemisphere: Hemisphere = plan.site.latitude > 0 ? 1 : -1;
  const prepared = planNight(plan, embeddedCatalogue());
  const memory: SearchMemory = new Map();
  const focal = (plan.focalLengthMillimetres * 1000) / plan.pixelSizeMicrometres;
  const seen: { detection: Detection; truth: FrameTruth; sky: LocalSky; cap: StarCap; identification: Identification | null }[] = [];
  let known: Identification | null = null;
  let milliseconds = 0;
  for (let i = 0; i < night.frames; i++) {
    const { image, truth } = renderFrame(prepared, i);
    const begin = performance.now();
    const detection = detectStars(image);
    const sky = makeLocalSky(truth.midUtc, saidSite);
    const cap = starCap(half(hemisphere), sky);
    const identification: Identification | null =
      (known && identifyFrame(detection.stars, plan.width, plan.height, cap, { lens: known.lens }, memory)) ??
      identifyFrame(detection.stars, plan.width, plan.height, cap, hinted ? { focalPixels: focal } : {}, memory);
    known ??= identification;
    milliseconds += performance.now() - begin;
    seen.push({ detection, truth, sky, cap, identification });
  }
  if (known) {
    for (const s of seen) s.identification ??= identifyFrame(
      s.detection.stars, plan.width, plan.height, s.cap, { lens: known.lens }, memory,
    );
  }
  const usable = seen.filter((s) => s.identification);
  let measurement: AxisMeasurement | null = null;
  let why = '';
  const input = (): AxisFrame[] => usable.map((s) => ({
    identification: s.identification!, sky: s.sky, width: plan.width, height: plan.height, exposureSeconds: plan.exposureSeconds,
  }));
  try {
    measurement = measureAxis(input(), 'true');
  } catch (error) {
    why = `${usable.length} of ${seen.length} frames identified; ${error instanceof Error ? error.message : String(error)}`;
  }
  const pole = seen[0]!.sky.truePole(hemisphere);
  const axis = axisWithError(pole, plan.altitudeErrorArcmin * ARCMINUTE, plan.azimuthErrorArcmin * ARCMINUTE);
  const reference = referenceAxis(seen, pole, plan.width);
  // What the stars went through, not what the person says of the air.
  const realPole = makeLocalSky(seen[0]!.truth.midUtc, plan.site).refractedPole(hemisphere);
  const fromRefracted = (found: Vector): number => {
    const a = axisError(found, seen[0]!.sky.refractedPole(hemisphere));
    const b = axisError(axis, realPole);
    return Math.hypot(a.altitude - b.altitude, (a.azimuth - b.azimuth) * Math.cos(horizontal(axis).altitude));
  };
  const errors = (aim: Aim): AimErrors => {
    const m = measurement && (aim === 'true' ? measurement : measureAxis(input(), aim));
    const truth = axisError(axis, aim === 'true' ? pole : realPole);
    const found = m && (aim === 'true' ? m.fromTruePole : m.fromRefractedPole);
    const pair = (key: 'separation' | 'altitude' | 'azimuth'): { error: number; sigma: number } =>
      found && m ? { error: found[key] - truth[key], sigma: m.sigma[key] } : { error: NaN, sigma: NaN };
    return { separation: pair('separation'), altitude: pair('altitude'), azimuth: pair('azimuth') };
  };
  return {
    night, measurement, why, milliseconds,
    miss: measurement ? fromRefracted(measurement.axis) : NaN,
    aims: { true: errors('true'), refracted: errors('refracted') },
    referenceMiss: reference && fromRefracted(reference),
    identified: seen.map((s) => s.identification?.stars.length ?? 0),
  };
}

/** The same least squares given the true identifications and the true lens: what the frames allow. */
function referenceAxis(
  seen: readonly { detection: Detection; truth: FrameTruth; sky: LocalSky; cap: StarCap }[], pole: Vector, width: number,
): Vector | null {
  const frames = seen.map(({ detection, truth, cap }) => {
    cap.reveal(Math.PI);
    const numbers = new Map<number, number>();
    cap.catalogue.forEach((catalogue, star) => numbers.set(catalogue, star));
    const stars: IdentifiedStar[] = [];
    for (let s = 0; s < truth.stars.count; s++) {
      const catalogue = truth.stars.catalogueIndex[s]!;
      if (catalogue < 0) continue;
      const near = detection.stars.find((d) => Math.hypot(d.x - truth.stars.x[s]!, d.y - truth.stars.y[s]!) < Math.max(1, 6 * d.sigma));
      if (!near || near.saturated || near.blended) continue;
      const star = numbers.get(catalogue);
      // A star below the horizon has no direction.
      if (star === undefined || cap.directions[3 * star + 2] === 0) continue;
      stars.push({
        detection: near, catalogue, magnitude: cap.magnitudes[star]!, catalogueSigma: cap.sigma(star),
        direction: [cap.directions[3 * star]!, cap.directions[3 * star + 1]!, cap.directions[3 * star + 2]!],
      });
    }
    return { stars, pole: cap.centre };
  });
  if (frames.some((f) => f.stars.length < 2)) return null;
  const poses = seen.map(({ truth }) => truth.pose);
  const turns = axisFromPoses(poses, pole);
  const fit = jointFit(
    collectSightings(frames), modelAbout(turns.axis, poses, seen[0]!.truth.lens), { radialTerms: 0, centre: false, lensKnown: true }, width,
  );
  return fit && fit.axes[0]!;
}

export const arcseconds = (angle: number): number => angle / ARCSECOND;
