import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { PolewardError } from '../../error.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import { angleBetween, toSpherical } from '../../geometry/vector.js';
import { horizontal } from '../../axis/axisError.js';
import type { Card } from '../../frames/fitsHeader.js';
import { worldCoordinates } from '../../identify/worldCoordinates.js';
import { directionAtHourAngle } from '../../run/targetPose.js';
import { STEADY_DRIVE } from '../../simulate/drive.js';
import { trackedPlan } from '../../simulate/trackedPlan.js';
import { makeFolder } from '../../node/makeFolder.js';
import { makeLocalSky } from '../../sky/localSky.js';
import { makeSite } from '../../sky/site.js';
import { cloud } from '../../simulate/cloud.js';
import { fitsFile, frameCards } from '../../simulate/fitsFile.js';
import type { Effect } from '../../simulate/hardSky.js';
import { moonlight } from '../../simulate/moonlight.js';
import { axisDirection, axisPlace, elevatedPole } from '../../simulate/mount.js';
import { type FrameTruth, planNight, renderFrame } from '../../simulate/night.js';
import { type NightPlan, ordinaryNight, skylight, starlight } from '../../simulate/nightPlan.js';
import { satelliteTrail } from '../../simulate/satelliteTrail.js';
import { treeLine } from '../../simulate/treeLine.js';
import { embeddedCatalogue } from '../../node/embeddedCatalogue.js';
import { FilesTogether } from '../../node/filesTogether.js';
import { breathe } from '../../cli/interrupt.js';
import { wrap } from '../words/numberWords.js';
import { progress } from '../../cli/progress.js';
import type { SimulateOptions } from '../../cli/simulate.js';

/** What truth.json and `--json` say. Signs and pixels as in `measure --json`. */
export interface Simulation {
  readonly schema: 'poleward/simulation-1';
  readonly site: {
    readonly latitudeDeg: number; readonly longitudeDeg: number; readonly elevationMetres: number;
    readonly pressureHectopascal: number; readonly temperatureCelsius: number;
    /** Pressure or temperature were given. Frames don't carry them, so `measure` needs them too. */
    readonly airGiven: boolean;
  };
  readonly axis: {
    readonly altitudeDeg: number; readonly azimuthDeg: number;
    readonly fromTruePole: Offset; readonly fromRefractedPole: Offset;
  };
  readonly tracking: boolean;
  /** What was tracked, null for frames near the pole. */
  readonly target: SimulateOptions['target'] | null;
  readonly guided: boolean;
  readonly mirrored: boolean;
  readonly focalLengthMillimetres: number;
  readonly pixelSizeMicrometres: number;
  readonly exposureSeconds: number;
  readonly seed: string;
  readonly frames: readonly {
    readonly file: string;
    /** Start of the exposure. */
    readonly startUtc: string;
    readonly rotationDeg: number;
    readonly rotationCentre: { readonly x: number; readonly y: number } | null;
    readonly refractedPole: { readonly x: number; readonly y: number } | null;
    readonly truePole: { readonly x: number; readonly y: number } | null;
    /** Stars of the catalogue on the frame, and stars no catalogue has, whether or not they can be made out. */
    readonly catalogueStars: number;
    readonly otherStars: number;
  }[];
}

interface Offset {
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  readonly separationArcmin: number;
}

/**
 * Renders the frames of `poleward simulate` into a folder, with truth.json beside them: all of them or none.
 * Throws {@link PolewardError} `bad-option` where a file exists or can't be written.
 */
export function simulateFrames(options: SimulateOptions): Simulation {
  const steps = simulationSteps(options);
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}

/** The same with progress shown, and Ctrl-C heard between two frames. */
export async function simulateInTurn(options: SimulateOptions): Promise<Simulation> {
  const steps = simulationSteps(options);
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
    progress('frames rendered', value, options.target ? options.frames : options.rotations.length);
    await breathe();
  }
}

/** Yields how many frames are rendered. What is done stands under temporary names until all is. */
function* simulationSteps(options: SimulateOptions): Generator<number, Simulation> {
  const plan = planFrom(options);
  const overwrite = options.overwrite ?? false;
  const names = plan.rotationsDeg.map((_, frame) => `frame-${frame + 1}.fits`);
  const madeFolder = makeOutFolder(options.out);
  if (!overwrite) refuseExisting(options.out, [...names, 'truth.json']);
  const night = planNight(plan, embeddedCatalogue());
  const files = new FilesTogether(options.out, overwrite, madeFolder);
  try {
    const frames: Simulation['frames'][number][] = [];
    for (const [frame, file] of names.entries()) {
      const { image, truth } = renderFrame(night, frame);
      files.add(file, fitsFile(image, [...frameCards(plan, truth.startUtc), ...(plan.drive ? worldCards(plan, truth) : [])]));
      frames.push(frameJson(file, plan.rotationsDeg[frame]!, truth));
      yield frames.length;
    }
    const made = simulationJson(options, plan, frames);
    files.add('truth.json', `${JSON.stringify(made, null, 2)}\n`);
    files.finish();
    return made;
  } finally {
    files.tidy();
  }
}

/** What was made in `folder`, for people. */
export function simulationText(made: Simulation, folder: string): string {
  const { altitudeArcmin: up, azimuthArcmin: east, separationArcmin: off } = made.axis.fromTruePole;
  const files = made.frames.map(({ file }) => join(folder, file));
  const air = made.site.airGiven
    ? ['--pressure', made.site.pressureHectopascal, '--temperature', made.site.temperatureCelsius].map(String) : [];
  const command = [made.target ? `poleward verify${made.guided ? ' --guided' : ' --unguided'}` : 'poleward measure', ...files, ...air];
  const frames = made.frames.length === 1 ? '1 frame' : `${made.frames.length} frames`;
  return [
    wrap(`${frames} in ${folder}, the truth in ${join(folder, 'truth.json')}`),
    wrap(`axis ${Math.abs(up).toFixed(2)}′ too ${up < 0 ? 'low' : 'high'}, ${Math.abs(east).toFixed(2)}′ too far ${east < 0 ? 'west' : 'east'}: ` +
      `${off.toFixed(2)}′ from the true pole, ${made.axis.fromRefractedPole.separationArcmin.toFixed(2)}′ from the refracted one`),
    ...(made.frames.length > 1 ? ['', made.target ? 'verify them:' : 'measure them:', `  ${command.map(quoted).join(' ')}`] : []),
  ].join('\n');
}

/** As a shell takes it; names without blanks stay as they are. */
function quoted(word: string): string {
  return word.startsWith('poleward ') || !/\s/.test(word) ? word : `"${word}"`;
}

function planFrom(options: SimulateOptions): NightPlan {
  const { latitude, longitude, elevation, pressure, temperature, focalLength, pixelSize, exposure } = options;
  const site = makeSite({
    latitudeDeg: latitude, longitudeDeg: longitude, elevationMetres: elevation ?? null,
    pressureHectopascal: pressure ?? null, temperatureCelsius: temperature ?? null,
  });
  const light = starlight(options.aperture ?? focalLength / 6);
  const skyElectrons = skylight(options.skyBrightness, light, exposure, (206.265 * pixelSize) / focalLength);
  const hardLight: Effect[] = [];
  if (options.moon) hardLight.push(moonlight(5 * skyElectrons, 40));
  if (options.satellite) hardLight.push(satelliteTrail(60 + 5 * Math.sqrt(skyElectrons), 2 * options.fwhm));
  if (options.trees) hardLight.push(treeLine(options.trees, 12, 0.1, options.seed.length));
  const plan: NightPlan = {
    ...ordinaryNight(site, options.time),
    exposureSeconds: exposure,
    intervalSeconds: options.interval,
    altitudeErrorArcmin: options.altitudeError,
    azimuthErrorArcmin: options.azimuthError,
    rotationsDeg: options.rotations,
    tracking: options.tracking ?? false,
    focalLengthMillimetres: focalLength,
    pixelSizeMicrometres: pixelSize,
    ...options.size,
    mirrored: options.mirrored ?? false,
    rollDeg: options.roll,
    pointingOffsetDeg: options.pointing,
    fwhmPixels: options.fwhm,
    electronsAtMagnitude0: light,
    skyElectrons,
    hardSky: {
      starlight: options.cloud ? [cloud(options.cloud, 4, Math.max(20, options.size.width / 8))] : [],
      light: hardLight,
    },
    seed: options.seed,
  };
  if (!options.target) return plan;
  const sky = makeLocalSky(options.time, site);
  const { declinationDeg, hourAngleHours } = options.target;
  const { altitude } = horizontal(sky.toLocal(directionAtHourAngle(sky, declinationDeg * DEGREE, hourAngleHours * 15 * DEGREE)));
  if (altitude < 2 * DEGREE) {
    throw new PolewardError('bad-option', `The target stands ${altitude < 0 ? 'below' : 'on'} the horizon (altitude ${(altitude / DEGREE).toFixed(0)}°). Give --target another declination or hour angle.`);
  }
  return trackedPlan(plan, { ...options.target, frames: Math.round(options.frames) }, {
    ...STEADY_DRIVE, periodicArcsec: options.periodicError, rateArcsecPerMinute: options.rateError, jitterArcsec: options.jitter,
    guideStar: options.guided ? { xDeg: 0.3, yDeg: 0.2 } : null,
  });
}

/** World coordinates of a tracked field: how the picture lies on the sky. */
function worldCards(plan: NightPlan, truth: FrameTruth): Card[] {
  const cards = worldCoordinates(plan.width, plan.height, truth.pose, truth.lens, makeLocalSky(truth.midUtc, plan.site));
  return cards.map(([keyword, value, comment]): Card => [keyword, value, comment]);
}

function frameJson(file: string, rotationDeg: number, truth: FrameTruth): Simulation['frames'][number] {
  const catalogueStars = truth.stars.catalogueIndex.filter((index) => index >= 0).length;
  return {
    file,
    startUtc: truth.startUtc.toISOString(),
    rotationDeg,
    rotationCentre: truth.rotationCentre,
    refractedPole: truth.refractedPole,
    truePole: truth.truePole,
    catalogueStars,
    otherStars: truth.stars.count - catalogueStars,
  };
}

function simulationJson(options: SimulateOptions, plan: NightPlan, frames: Simulation['frames']): Simulation {
  const place = axisPlace(plan, 0);
  const direction = axisDirection(place);
  const hemisphere = elevatedPole(plan.site.latitude);
  const sky = makeLocalSky(plan.startUtc, plan.site);
  const truePole = sky.truePole(hemisphere);
  const refractedPole = sky.refractedPole(hemisphere);
  const lift = toSpherical(refractedPole).latitude - toSpherical(truePole).latitude;
  const offset = (altitudeArcmin: number, separation: number): Offset => ({
    altitudeArcmin, azimuthArcmin: plan.azimuthErrorArcmin, separationArcmin: separation / ARCMINUTE,
  });
  return {
    schema: 'poleward/simulation-1',
    site: {
      latitudeDeg: options.latitude,
      longitudeDeg: options.longitude,
      elevationMetres: plan.site.elevationMetres,
      pressureHectopascal: plan.site.pressureHectopascal,
      temperatureCelsius: plan.site.temperatureCelsius,
      airGiven: options.pressure !== undefined || options.temperature !== undefined,
    },
    axis: {
      altitudeDeg: place.altitude / DEGREE,
      azimuthDeg: (place.azimuth / DEGREE + 360) % 360,
      fromTruePole: offset(plan.altitudeErrorArcmin, angleBetween(direction, truePole)),
      fromRefractedPole: offset(plan.altitudeErrorArcmin - lift / ARCMINUTE, angleBetween(direction, refractedPole)),
    },
    tracking: plan.tracking,
    target: options.target ?? null,
    guided: (plan.drive?.guideStar ?? null) !== null,
    mirrored: plan.mirrored,
    focalLengthMillimetres: plan.focalLengthMillimetres,
    pixelSizeMicrometres: plan.pixelSizeMicrometres,
    exposureSeconds: plan.exposureSeconds,
    seed: options.seed,
    frames,
  };
}

/** Whether it was not there before. */
function makeOutFolder(folder: string): boolean {
  const isNew = !existsSync(folder);
  try {
    makeFolder(folder);
  } catch (error) {
    const why = codeOf(error) === 'EEXIST' || codeOf(error) === 'ENOTDIR' ? 'there is a file of that name' : codeOf(error);
    throw new PolewardError('bad-option', `The folder ${folder} can't be made (${why}). Give another to --out.`);
  }
  return isNew;
}

function refuseExisting(folder: string, names: readonly string[]): void {
  const there = names.find((name) => existsSync(join(folder, name)));
  if (there) throw new PolewardError('bad-option', `${join(folder, there)} exists already. Give another folder, or --overwrite.`);
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : String(error);
}
