/**
 * Invented nights through ideal and through real optics and air, of four classes of focal length. Rough: lens elements off their axis,
 * comatic images, stars that sway by themselves. All values are invented within what people meet.
 */
import { type NightPlan, ordinaryNight, skylight, starlight } from '../../src/simulate/nightPlan.js';
import { makeRandom } from '../../src/simulate/random.js';
import { type Site, makeSite } from '../../src/sky/site.js';
import { coma } from './hardEffects.js';

export const ROUGH_CLASSES = ['50 mm lens', '135 to 200 mm lens', 'guide scope', 'telescope'] as const;
export type RoughClass = (typeof ROUGH_CLASSES)[number];

export interface RoughNight {
  readonly kind: RoughClass;
  readonly rough: boolean;
  readonly plan: NightPlan;
  readonly saidSite: Site;
  /** One sigma of each star's own sway in each frame and coordinate, arcseconds. */
  readonly swayArcsec: number;
}

interface Camera {
  readonly focal: readonly [number, number];
  readonly pixel: readonly [number, number];
  readonly exposure: readonly [number, number];
  readonly size: readonly [number, number];
  readonly apertures: readonly number[];
  readonly offset: number;
  /** Largest shift at the corner by radial terms, as a share of its distance. */
  readonly bent: number;
}

const CAMERAS: Readonly<Record<RoughClass, Camera>> = {
  '50 mm lens': { focal: [48, 52], pixel: [12, 20], exposure: [3, 8], size: [1200, 800], apertures: [18], offset: 5, bent: 0.015 },
  '135 to 200 mm lens': { focal: [135, 200], pixel: [10, 16], exposure: [3, 8], size: [1200, 800], apertures: [40, 60], offset: 2,
    bent: 0.004 },
  'guide scope': { focal: [200, 250], pixel: [3.5, 5.5], exposure: [2, 6], size: [1200, 900], apertures: [50, 60], offset: 1, bent: 0.002 },
  telescope: { focal: [500, 1400], pixel: [8, 12], exposure: [5, 20], size: [1200, 900], apertures: [80, 120, 150], offset: 0.5,
    bent: 0.001 },
};

/** Night n of a class; the same numbers for ideal and rough, so that they can be compared. */
export function roughNight(kind: RoughClass, rough: boolean, n: number): RoughNight {
  const number = 700_000 + ROUGH_CLASSES.indexOf(kind) * 50_000 + n;
  const random = makeRandom(`rough ${number}`);
  const between = (a: number, b: number): number => a + (b - a) * random.uniform();
  const pick = <T>(values: readonly T[]): T => values[Math.floor(random.uniform() * values.length)]!;
  const said = {
    latitudeDeg: pick([1, -1]) * between(25, 60), longitudeDeg: between(-180, 180), elevationMetres: between(0, 2000),
    temperatureCelsius: between(-10, 25),
  };
  const saidSite = makeSite({ ...said, pressureHectopascal: makeSite(said).pressureHectopascal });
  const site: Site = { ...saidSite, pressureHectopascal: saidSite.pressureHectopascal * (1 + 0.005 * random.normal()) };
  const startUtc = new Date(Date.UTC(2025, 0, 1) + Math.floor(between(0, 5 * 365.25 * 86_400)) * 1000);
  const { focal, pixel, exposure, size: [width, height], apertures, offset, bent } = CAMERAS[kind];
  const focalLengthMillimetres = between(...focal), pixelSizeMicrometres = between(...pixel), exposureSeconds = between(...exposure);
  const focalPixels = (focalLengthMillimetres * 1000) / pixelSizeMicrometres;
  const scale = 206265 / focalPixels;
  const corner = Math.hypot(width, height) / 2 / focalPixels;
  const electronsAtMagnitude0 = starlight(pick(apertures));
  const frames = pick([2, 3, 3, 3, 4]);
  const turn = pick([1, -1]) * between(30, 90);
  const plan: NightPlan = {
    ...ordinaryNight(site, startUtc),
    rotationsDeg: Array.from({ length: frames }, (_, i) => (turn * i) / (frames - 1)),
    tracking: kind === 'telescope' || pick([true, false]), mirrored: pick([true, false]),
    altitudeErrorArcmin: between(-40, 40), azimuthErrorArcmin: between(-40, 40), rollDeg: between(0, 360),
    pointingOffsetDeg: between(0, offset), pointingDirectionDeg: between(0, 360), intervalSeconds: between(25, 90),
    fwhmPixels: between(1.8, 3.5), moffatBeta: between(2.5, 4.5), vignetting: between(0, 0.3), hotPixelsPerMillion: between(0, 100),
    focalLengthMillimetres, pixelSizeMicrometres, exposureSeconds, width, height, electronsAtMagnitude0,
    skyElectrons: skylight(between(19, 21.3), electronsAtMagnitude0, exposureSeconds, scale),
    distortion: [between(-bent, bent) / corner ** 2],
    principalPointOffset: { x: between(-8, 8), y: between(-8, 8) },
    uncataloguedDensity: 0.2, seed: number,
  };
  if (!rough) return { kind, rough, plan, saidSite, swayArcsec: 0 };
  const swayArcsec = between(0.1, 0.8);
  const askew = 2 * Math.PI * random.uniform();
  const off = 3e-4 * between(0.5, 1.5);
  const tail = between(0.5, 2.5);
  return {
    kind, rough, saidSite, swayArcsec,
    plan: {
      ...plan, wanderPixels: swayArcsec / scale, tangential: [off * Math.cos(askew), off * Math.sin(askew)],
      hardSky: { starlight: [coma(tail)] },
    },
  };
}
