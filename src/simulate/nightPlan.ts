import type { Site } from '../sky/site.js';
import type { Drive } from './drive.js';
import { skylight, starlight } from '../sky/starlight.js';
import type { HardSky } from './hardSky.js';

export { skylight, starlight };

/** Everything that determines a practice night: with the same plan the frames are the same to the last bit. */
export interface NightPlan {
  readonly site: Site;
  /** Start of the first exposure, UTC. */
  readonly startUtc: Date;
  /** 0 to 600. */
  readonly exposureSeconds: number;
  /** From the start of one frame to that of the next. */
  readonly intervalSeconds: number;

  /** Axis against the true pole, signs as everywhere: + = too high, + = too far east (the knob's angle). */
  readonly altitudeErrorArcmin: number;
  readonly azimuthErrorArcmin: number;
  /**
   * Where the mount is slewed to in right ascension at each frame, degrees; one value for each frame. + = west, the direction of stars and
   * of a tracking mount, in either hemisphere.
   */
  readonly rotationsDeg: readonly number[];
  /** The mount follows the stars about its axis, from the first frame on. */
  readonly tracking: boolean;
  /** Errors of the mount apart from tracking; absent = none. */
  readonly drive?: Drive;
  /** Changes before a frame that last from then on. */
  readonly shifts: readonly Shift[];

  readonly focalLengthMillimetres: number;
  /** Of the stored pixels. */
  readonly pixelSizeMicrometres: number;
  readonly width: number;
  readonly height: number;
  /**
   * As in the JSON of `measure`: false = drawn as FITS viewers do, first stored row at the bottom, the picture looks like
   * the sky; true = with an odd number of mirrors.
   */
  readonly mirrored: boolean;
  /** Turns the camera in its holder. */
  readonly rollDeg: number;
  /** Angle between the camera's optical axis and the mount's axis, and toward which side of the mount. */
  readonly pointingOffsetDeg: number;
  readonly pointingDirectionDeg: number;
  /** Radial terms as in `Lens`: r = f·t·(1 + k1·t² + …). */
  readonly distortion: readonly number[];
  /** As in `Lens`; absent = none. */
  readonly tangential?: readonly [number, number];
  /** Optical axis from the middle of the frame, pixels. */
  readonly principalPointOffset: { readonly x: number; readonly y: number };

  /** Of a star in each frame: mean of long and short axis, pixels, before it trails. */
  readonly fwhmPixels: number;
  /** Moffat exponent: 2.5 to 4.8 for seeing (common values), 50 is nearly a Gaussian. */
  readonly moffatBeta: number;
  /** Long axis over short axis, 1 = round, and where the long axis points, from x toward y. */
  readonly elongation: number;
  readonly elongationDirectionDeg: number;
  /** One-sigma motion of each star in each frame and coordinate by the air: pixels. */
  readonly wanderPixels: number;

  /** Electrons a second from a star of magnitude 0; see {@link starlight}. */
  readonly electronsAtMagnitude0: number;
  /** One-sigma scatter between the catalogue's magnitudes and what the camera sees (colours), magnitudes. */
  readonly magnitudeScatter: number;
  /** Electrons in each pixel of a frame from sky and dark current. */
  readonly skyElectrons: number;
  /** Electrons, one-sigma. */
  readonly readNoise: number;
  /** Electrons for one step of the stored values. */
  readonly electronsPerAdu: number;
  /** Stored value without light. */
  readonly biasAdu: number;
  /** Electrons a pixel holds. */
  readonly fullWell: number;
  /** Largest value stored, at most 65535. */
  readonly ceilingAdu: number;
  /** Share of the light lost in the farthest corner, growing with the square of the distance from the middle. */
  readonly vignetting: number;
  /** Pixels in a million that show far too much, the same ones in all frames. */
  readonly hotPixelsPerMillion: number;

  /** Scales the motion of catalogue stars since 2000 (see {@link trueStars}); 0 = the catalogue is exact. */
  readonly motionScale: number;
  /** Stars that are not in the catalogue: 1 = as many as the catalogue's counts, continued below its limit, suggest, 0 = none. */
  readonly uncataloguedDensity: number;
  /** One-sigma error in each coordinate of the known polar motion, arcseconds: 0.05 is usual, 0 = the pole is where expected. */
  readonly polarWobbleArcsec: number;
  /** Clouds, trees and other difficulties. */
  readonly hardSky: HardSky;
  readonly seed: string | number;
}

/** A change before frame `beforeFrame` (0-based) that lasts. */
export interface Shift {
  readonly beforeFrame: number;
  /** The altitude knob is turned: + raises the axis. */
  readonly altitudeArcmin?: number;
  /** The azimuth knob is turned: + moves the axis east. */
  readonly azimuthArcmin?: number;
  /** The declination clutch slips. */
  readonly declinationArcmin?: number;
}

/** An ordinary night with a small guide scope; every value can be replaced. */
export function ordinaryNight(site: Site, startUtc: Date): NightPlan {
  return {
    site,
    startUtc,
    exposureSeconds: 4,
    intervalSeconds: 40,
    altitudeErrorArcmin: 0,
    azimuthErrorArcmin: 0,
    rotationsDeg: [0, 35, 70],
    tracking: true,
    shifts: [],
    focalLengthMillimetres: 180,
    pixelSizeMicrometres: 4.8,
    width: 800,
    height: 600,
    mirrored: false,
    rollDeg: 25,
    pointingOffsetDeg: 0.3,
    pointingDirectionDeg: 130,
    distortion: [],
    principalPointOffset: { x: 0, y: 0 },
    fwhmPixels: 2.4,
    moffatBeta: 3,
    elongation: 1,
    elongationDirectionDeg: 0,
    wanderPixels: 0,
    electronsAtMagnitude0: starlight(30),
    magnitudeScatter: 0.2,
    skyElectrons: skylight(20, starlight(30), 4, 5.5),
    readNoise: 3,
    electronsPerAdu: 0.5,
    biasAdu: 500,
    fullWell: 30000,
    ceilingAdu: 65535,
    vignetting: 0.1,
    hotPixelsPerMillion: 50,
    motionScale: 1,
    uncataloguedDensity: 1,
    polarWobbleArcsec: 0.05,
    hardSky: {},
    seed: 1,
  };
}
