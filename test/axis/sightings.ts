/**
 * Nights without pixels: invented stars around the pole, seen by an invented camera on a mount with a known axis, with
 * normal errors of the stated sigma. What the axis code gets, and the truth.
 */
import { axisWithError } from '../../src/axis/axisError.js';
import type { AxisFrame } from '../../src/axis/estimateMount.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, cross, fromSpherical, unit } from '../../src/geometry/vector.js';
import { type Lens, toPixel } from '../../src/identify/lens.js';
import { type LocalSky, makeLocalSky } from '../../src/sky/localSky.js';
import { type Site, makeSite } from '../../src/sky/site.js';

export interface InventedNight {
  readonly site?: Site | null;
  readonly altitudeErrorArcmin: number;
  readonly azimuthErrorArcmin: number;
  /** Right-handed about the axis' elevated end, degrees. */
  readonly turnsDeg: readonly number[];
  readonly minutesApart?: number;
  readonly lens?: Lens;
  readonly sigmaPixels?: number;
  readonly stars?: number;
  readonly catalogueArcsec?: number;
  /** The errors that the star list states, where they are not the true ones. */
  readonly statedSigmaPixels?: number;
  readonly statedCatalogueArcsec?: number;
  readonly seed?: number;
  /** Extra rotation of the camera before each frame (a slip), applied in the camera frame. */
  readonly slips?: readonly (Rotation | null)[];
}

export const WIDTH = 1200;
export const HEIGHT = 900;
export const SITE = makeSite({
  latitudeDeg: 47.3, longitudeDeg: 9.1, elevationMetres: 400, pressureHectopascal: 965, temperatureCelsius: 5,
});

/** Repeatable numbers: uniform in 0..1 and normal (mulberry32, Box-Muller). */
export function generator(seed: number): { uniform: () => number; normal: () => number } {
  let a = seed >>> 0;
  const uniform = (): number => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return { uniform, normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()) };
}

/** An invented camera in no special position. */
export const LENS: Lens = { focalPixels: 40000, centreX: (WIDTH - 1) / 2, centreY: (HEIGHT - 1) / 2, radial: [], mirrored: false };

export function seeNight(night: InventedNight): { frames: AxisFrame[]; axis: Vector; pole: Vector } {
  const site = night.site === undefined ? SITE : night.site;
  const lens = night.lens ?? LENS;
  const start = Date.UTC(2026, 10, 25, 20);
  const skies = night.turnsDeg.map((_, i) => makeLocalSky(new Date(start + i * (night.minutesApart ?? 1) * 60_000), site));
  const hemisphere = site === null || site.latitude >= 0 ? 1 : -1;
  const pole = makeLocalSky(new Date(start), site).truePole(hemisphere);
  const axis = axisWithError(pole, night.altitudeErrorArcmin * ARCMINUTE, night.azimuthErrorArcmin * ARCMINUTE);
  const pose0 = poseNear(axis, lens);
  const poses = night.turnsDeg.map((turn, i) => {
    const slip = night.slips?.[i];
    return compose(rotationAbout(axis, turn * DEGREE), slip ? compose(pose0, slip) : pose0);
  });
  return { frames: seePoses(poses, skies, hemisphere, night), axis, pole };
}

/** A camera that looks near an axis, rolled by a radian. */
export function poseNear(axis: Vector, lens: Lens): Rotation {
  const forward = apply(rotationAbout(unit(cross(axis, [1, 0.2, 0.1])), 0.3 * Math.atan(WIDTH / 2 / lens.focalPixels)), axis);
  const right = unit(cross(forward, [0.3, 0.1, 1]));
  const down = cross(forward, right);
  return compose(rotationAbout(forward, 1), [right[0], down[0], forward[0], right[1], down[1], forward[1], right[2], down[2], forward[2]]);
}

/** What a camera with these poses (camera to local) sees in these skies. */
export function seePoses(
  poses: readonly Rotation[], skies: readonly LocalSky[], hemisphere: 1 | -1,
  night: Pick<InventedNight, 'seed' | 'sigmaPixels' | 'catalogueArcsec' | 'lens' | 'stars' | 'statedSigmaPixels' | 'statedCatalogueArcsec'>,
): AxisFrame[] {
  const { uniform, normal } = generator(night.seed ?? 1);
  const sigma = night.sigmaPixels ?? 0.1;
  const catalogueSigma = (night.catalogueArcsec ?? 0.3) * ARCSECOND;
  const lens = night.lens ?? LENS;
  const radius = 2.2 * Math.atan(Math.hypot(WIDTH, HEIGHT) / 2 / lens.focalPixels);
  const catalogue = Array.from({ length: night.stars ?? 150 }, (_, number) => {
    const listed = fromSpherical(2 * Math.PI * uniform(), hemisphere * (Math.PI / 2 - radius * Math.sqrt(uniform())));
    const east = unit(cross([0, 0, 1], listed));
    const north = cross(listed, east);
    const [p, q] = [catalogueSigma * normal(), catalogueSigma * normal()];
    const real = unit([0, 1, 2].map((k) => listed[k]! + p * east[k]! + q * north[k]!) as unknown as Vector);
    return { number, listed, real };
  });
  return poses.map((pose, i): AxisFrame => {
    const sky = skies[i]!;
    const stars = catalogue.flatMap(({ number, listed, real }) => {
      const pixel = toPixel(lens, apply(inverse(pose), sky.toLocal(real)));
      if (!pixel || pixel.x < 0 || pixel.y < 0 || pixel.x > WIDTH - 1 || pixel.y > HEIGHT - 1) return [];
      const [x, y] = [pixel.x + sigma * normal(), pixel.y + sigma * normal()];
      return [{
        detection: {
          x, y, sigma: night.statedSigmaPixels ?? sigma, flux: 1000, signalToNoise: 50, fwhm: 2.5, elongation: 1, saturated: false,
          blended: false,
        },
        catalogue: number, direction: sky.toLocal(listed), magnitude: 8,
        catalogueSigma: night.statedCatalogueArcsec === undefined ? catalogueSigma : night.statedCatalogueArcsec * ARCSECOND,
      }];
    });
    // As identification gives it: a pose some tenths of a pixel off.
    const near = compose(rotationAbout(unit([normal(), normal(), normal()]), 0.5 / lens.focalPixels), pose);
    return { identification: { pose: near, lens, stars, residualPixels: sigma, logOdds: 300 }, sky, width: WIDTH, height: HEIGHT };
  });
}
