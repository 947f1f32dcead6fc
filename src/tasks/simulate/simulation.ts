import { PolewardError } from '../../error.js';
import { ARCMINUTE, DEGREE } from '../../geometry/angle.js';
import { angleBetween, toSpherical } from '../../geometry/vector.js';
import { horizontal } from '../../axis/axisError.js';
import type { Card } from '../../frames/fitsHeader.js';
import { worldCoordinates } from '../../identify/worldCoordinates.js';
import { directionAtHourAngle } from '../../run/targetPose.js';
import { STEADY_DRIVE } from '../../simulate/drive.js';
import { pointedPlan, trackedPlan } from '../../simulate/trackedPlan.js';
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
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import { wrap } from '../words/numberWords.js';

/** A request for practice frames. */
export interface SimulateRequest {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  /** Null: sea level. */
  readonly elevationMetres: number | null;
  /** Null: that of the standard air at the elevation. */
  readonly pressureHectopascal: number | null;
  readonly temperatureCelsius: number | null;
  /** Start of the first exposure. */
  readonly start: Date;
  readonly focalLengthMillimetres: number;
  /** Null: a sixth of the focal length. */
  readonly apertureMillimetres: number | null;
  readonly pixelSizeMicrometres: number;
  /** Pixels. */
  readonly size: { readonly width: number; readonly height: number };
  readonly exposureSeconds: number;
  /** From start to start. */
  readonly intervalSeconds: number;
  /** From the true pole. */
  readonly altitudeErrorArcmin: number;
  readonly azimuthErrorArcmin: number;
  /** Right ascension of each frame, west positive. */
  readonly rotationsDeg: readonly number[];
  /** The mount follows the stars. */
  readonly tracking: boolean;
  /** A field anywhere that the mount tracks, instead of frames near the pole. */
  readonly target: { readonly declinationDeg: number; readonly hourAngleHours: number } | null;
  /** Where the camera looks at rotation 0, instead of near the axis; the rotations are about the axis. Null: near the pole. */
  readonly toward?: { readonly declinationDeg: number; readonly hourAngleHours: number } | null;
  /** Of the target. */
  readonly frames: number;
  readonly guided: boolean;
  readonly periodicErrorArcsec: number;
  readonly rateErrorArcsecPerMinute: number;
  readonly jitterArcsec: number;
  readonly mirrored: boolean;
  /** Of the camera in its holder. */
  readonly rollDeg: number;
  /** Of the camera from the axis. */
  readonly pointingOffsetDeg: number;
  readonly fwhmPixels: number;
  /** Of a square arcsecond. */
  readonly skyMagnitude: number;
  /** Shares of the frame behind cloud and trees, 0 to 1. */
  readonly cloud: number;
  readonly trees: number;
  readonly satellite: boolean;
  readonly moon: boolean;
  readonly seed: string;
}

/** The truth about practice frames. Signs and pixels as in `poleward/measurement-1`. */
export interface Simulation {
  readonly schema: 'poleward/simulation-1';
  readonly site: {
    readonly latitudeDeg: number; readonly longitudeDeg: number; readonly elevationMetres: number;
    readonly pressureHectopascal: number; readonly temperatureCelsius: number;
    /** Pressure or temperature were given. Frames don't carry them, so a measurement needs them as options too. */
    readonly airGiven: boolean;
  };
  readonly axis: {
    readonly altitudeDeg: number; readonly azimuthDeg: number;
    readonly fromTruePole: SimulatedError; readonly fromRefractedPole: SimulatedError;
  };
  readonly tracking: boolean;
  /** What was tracked, null for frames near the pole. */
  readonly target: SimulateRequest['target'];
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
    /** Catalogue stars in the frame, and stars in no catalogue, detectable or not. */
    readonly catalogueStars: number;
    readonly otherStars: number;
  }[];
}

export interface SimulatedError {
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  readonly separationArcmin: number;
}

/** A frame as a file, to be written. */
export interface SimulatedFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Names of the frames' files. */
export function frameNames({ rotationsDeg }: NightPlan): string[] {
  return rotationsDeg.map((_, frame) => `frame-${frame + 1}.fits`);
}

/** Renders practice frames one by one, each as a FITS file; in the end the truth about them. `plan`: from {@link simulationPlan}. */
export function* simulation(request: SimulateRequest, plan: NightPlan, catalogue: StarCatalogue): Generator<SimulatedFile, Simulation> {
  const night = planNight(plan, catalogue);
  const frames: Simulation['frames'][number][] = [];
  for (const [frame, name] of frameNames(plan).entries()) {
    const { image, truth } = renderFrame(night, frame);
    frames.push(frameJson(name, plan.rotationsDeg[frame]!, truth));
    yield { name, bytes: fitsFile(image, [...frameCards(plan, truth.startUtc), ...(plan.drive ? worldCards(plan, truth) : [])]) };
  }
  return simulationJson(request, plan, frames);
}

/** The truth for people: by how much the axis is wrong. */
export function simulationText({ axis }: Simulation): string {
  const { altitudeArcmin: up, azimuthArcmin: east, separationArcmin: off } = axis.fromTruePole;
  return wrap(`axis ${Math.abs(up).toFixed(2)}′ too ${up < 0 ? 'low' : 'high'}, ${Math.abs(east).toFixed(2)}′ too far `
    + `${east < 0 ? 'west' : 'east'}: ` +
    `${off.toFixed(2)}′ from the true pole, ${axis.fromRefractedPole.separationArcmin.toFixed(2)}′ from the refracted one`);
}

/** The night to be rendered. Throws PolewardError `bad-option` where the target is below the horizon. */
export function simulationPlan(request: SimulateRequest): NightPlan {
  const { focalLengthMillimetres, pixelSizeMicrometres, exposureSeconds, size, fwhmPixels, seed, target } = request;
  const site = makeSite(request);
  const light = starlight(request.apertureMillimetres ?? focalLengthMillimetres / 6);
  const skyElectrons = skylight(request.skyMagnitude, light, exposureSeconds, (206.265 * pixelSizeMicrometres) / focalLengthMillimetres);
  const hardLight: Effect[] = [];
  if (request.moon) hardLight.push(moonlight(5 * skyElectrons, 40));
  if (request.satellite) hardLight.push(satelliteTrail(60 + 5 * Math.sqrt(skyElectrons), 2 * fwhmPixels));
  if (request.trees > 0) hardLight.push(treeLine(request.trees, 12, 0.1, seed.length));
  const plan: NightPlan = {
    ...ordinaryNight(site, request.start),
    exposureSeconds, focalLengthMillimetres, pixelSizeMicrometres, fwhmPixels, seed, skyElectrons,
    intervalSeconds: request.intervalSeconds,
    altitudeErrorArcmin: request.altitudeErrorArcmin,
    azimuthErrorArcmin: request.azimuthErrorArcmin,
    rotationsDeg: request.rotationsDeg,
    tracking: request.tracking,
    ...size,
    mirrored: request.mirrored,
    rollDeg: request.rollDeg,
    pointingOffsetDeg: request.pointingOffsetDeg,
    electronsAtMagnitude0: light,
    hardSky: {
      starlight: request.cloud > 0 ? [cloud(request.cloud, 4, Math.max(20, size.width / 8))] : [],
      light: hardLight,
    },
  };
  const wanted = target ?? request.toward;
  if (!wanted) return plan;
  const sky = makeLocalSky(request.start, site);
  const { declinationDeg, hourAngleHours } = wanted;
  const { altitude } = horizontal(sky.toLocal(directionAtHourAngle(sky, declinationDeg * DEGREE, hourAngleHours * 15 * DEGREE)));
  if (altitude < 2 * DEGREE) {
    throw new PolewardError(
      'bad-option',
      `The target stands ${altitude < 0 ? 'below' : 'on'} the horizon (altitude ${(altitude / DEGREE).toFixed(0)}°). Give it another `
        + 'declination or hour angle.',
    );
  }
  if (!target) return pointedPlan(plan, wanted);
  return trackedPlan(plan, { ...target, frames: request.frames }, {
    ...STEADY_DRIVE, periodicArcsec: request.periodicErrorArcsec, rateArcsecPerMinute: request.rateErrorArcsecPerMinute,
    jitterArcsec: request.jitterArcsec,
    guideStar: request.guided ? { xDeg: 0.3, yDeg: 0.2 } : null,
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

function simulationJson(request: SimulateRequest, plan: NightPlan, frames: Simulation['frames']): Simulation {
  const place = axisPlace(plan, 0);
  const direction = axisDirection(place);
  const hemisphere = elevatedPole(plan.site.latitude);
  const sky = makeLocalSky(plan.startUtc, plan.site);
  const truePole = sky.truePole(hemisphere);
  const refractedPole = sky.refractedPole(hemisphere);
  const lift = toSpherical(refractedPole).latitude - toSpherical(truePole).latitude;
  const offset = (altitudeArcmin: number, separation: number): SimulatedError => ({
    altitudeArcmin, azimuthArcmin: plan.azimuthErrorArcmin, separationArcmin: separation / ARCMINUTE,
  });
  return {
    schema: 'poleward/simulation-1',
    site: {
      latitudeDeg: request.latitudeDeg,
      longitudeDeg: request.longitudeDeg,
      elevationMetres: plan.site.elevationMetres,
      pressureHectopascal: plan.site.pressureHectopascal,
      temperatureCelsius: plan.site.temperatureCelsius,
      airGiven: request.pressureHectopascal !== null || request.temperatureCelsius !== null,
    },
    axis: {
      altitudeDeg: place.altitude / DEGREE,
      azimuthDeg: (place.azimuth / DEGREE + 360) % 360,
      fromTruePole: offset(plan.altitudeErrorArcmin, angleBetween(direction, truePole)),
      fromRefractedPole: offset(plan.altitudeErrorArcmin - lift / ARCMINUTE, angleBetween(direction, refractedPole)),
    },
    tracking: plan.tracking,
    target: request.target,
    guided: (plan.drive?.guideStar ?? null) !== null,
    mirrored: plan.mirrored,
    focalLengthMillimetres: plan.focalLengthMillimetres,
    pixelSizeMicrometres: plan.pixelSizeMicrometres,
    exposureSeconds: plan.exposureSeconds,
    seed: request.seed,
    frames,
  };
}
