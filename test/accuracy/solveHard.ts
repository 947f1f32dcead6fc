/** Solves a night of the hard skies from its files to the answer, as `measure` does, and compares the answer with the truth. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { axisError, axisWithError } from '../../src/axis/axisError.js';
import type { Aim } from '../../src/axis/axisResult.js';
import type { Sourced } from '../../src/frames/frame.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { type Measured, measured, nightBefore } from '../../src/tasks/measure/measureFrames.js';
import { seeFrames } from '../../src/tasks/measure/seeFrames.js';
import { starsOfFile } from '../../src/node/starsOfFile.js';
import { givenValues } from '../../src/tasks/given/given.js';
import type { FrameResult } from '../../src/tasks/recognise/frameStars.js';
import { PolewardError } from '../../src/error.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import type { HardNight } from './hardKinds.js';
import { storePicture } from './storePicture.js';

export interface HardAnswer {
  readonly kind: string;
  readonly solved: boolean;
  /** What the person is told where it is refused. */
  readonly refusal: string;
  /** Errors in separation, altitude, azimuth over the sigmas given, from the refracted and from the true pole. */
  readonly z: readonly number[];
  /** Largest part of the error from the refracted pole, arcseconds on the sky. */
  readonly missArcsec: number;
  /** Frames used. */
  readonly frames: number;
  /** Codes of the warnings. */
  readonly warnings: readonly string[];
}

export async function solveHard({ kind, study, stored }: HardNight): Promise<HardAnswer> {
  const { plan, saidSite } = study;
  const hemisphere = plan.site.latitude > 0 ? 1 : -1;
  const night = planNight(plan, embeddedCatalogue());
  const folder = await mkdtemp(join(tmpdir(), 'poleward-hard-'));
  const results: FrameResult[] = [];
  let firstMiddle: Date | null = null;
  try {
    for (let i = 0; i < plan.rotationsDeg.length; i++) {
      const { image, truth } = renderFrame(night, i);
      firstMiddle ??= truth.midUtc;
      const file = await storePicture(image, plan, truth.startUtc, stored, join(folder, `frame-${i + 1}`));
      const result = await starsOfFile(file, {});
      // A picture without a header has its time in EXIF, which other tests check.
      results.push(
        'stars' in result ? { ...result, metadata: { ...result.metadata, midExposure: { value: truth.midUtc, from: 'plan' } } } : result,
      );
    }
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
  const said = (value: number): Sourced<number> => ({ value, from: 'plan' });
  const given = givenValues({
    latitudeDeg: said(saidSite.latitude / DEGREE), longitudeDeg: said(saidSite.longitude / DEGREE),
    elevationMetres: said(saidSite.elevationMetres),
    pressureHectopascal: said(saidSite.pressureHectopascal), temperatureCelsius: said(saidSite.temperatureCelsius),
  }, null);
  const measure = async (aim: Aim): Promise<Measured> => {
    const request = { ...given, aim };
    const seen = await seeFrames(
      { each: (arrived) => { results.forEach(arrived); return Promise.resolve(results); } }, results.length, request, embeddedCatalogue(),
      () => {},
    );
    return measured(seen, nightBefore(seen, null, null), { ...request, before: undefined, turnedOnly: true });
  };
  const truePole = makeLocalSky(firstMiddle!, saidSite).truePole(hemisphere);
  const axis = axisWithError(truePole, plan.altitudeErrorArcmin * ARCMINUTE, plan.azimuthErrorArcmin * ARCMINUTE);
  // What the stars went through, not what the person says of the air.
  const refractedPole = makeLocalSky(firstMiddle!, plan.site).refractedPole(hemisphere);
  try {
    const z: number[] = [];
    let missArcsec = 0, frames = 0;
    let warnings: string[] = [];
    for (const aim of ['refracted', 'true'] as const) {
      const { measurement, ...rest } = await measure(aim);
      const truth = axisError(axis, aim === 'true' ? truePole : refractedPole);
      const found = aim === 'true' ? measurement.fromTruePole : measurement.fromRefractedPole;
      for (const key of ['separation', 'altitude', 'azimuth'] as const) z.push((found[key] - truth[key]) / measurement.sigma[key]);
      if (aim === 'true') continue;
      const cosine = Math.cos(Math.abs(plan.site.latitude));
      missArcsec = Math.hypot(found.altitude - truth.altitude, (found.azimuth - truth.azimuth) * cosine) / ARCSECOND;
      frames = measurement.frames.length;
      warnings = rest.warnings.map((w) => w.code);
    }
    return { kind, solved: true, refusal: '', z, missArcsec, frames, warnings };
  } catch (error) {
    // Anything but a sentence for the person is a failure of the program.
    if (!(error instanceof PolewardError)) throw error;
    return { kind, solved: false, refusal: `${error.code}: ${error.message}`, z: [], missArcsec: NaN, frames: 0, warnings: [] };
  }
}

/** An answer farther off than this many of its own sigmas is wrong. */
export const WRONG_BEYOND = 4;

export function isWrong({ z }: HardAnswer): boolean {
  return z.some((value) => !(Math.abs(value) <= WRONG_BEYOND));
}
