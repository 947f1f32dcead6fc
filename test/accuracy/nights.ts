/**
 * Invented nights of all kinds, each fixed by its number: for the accuracy study and for the tests of shares.
 */
import { DEGREE } from '../../src/geometry/angle.js';
import { type NightPlan, ordinaryNight, skylight, starlight } from '../../src/simulate/nightPlan.js';
import { makeRandom } from '../../src/simulate/random.js';
import { type Site, makeSite } from '../../src/sky/site.js';

export type Optics = 'guide scope' | 'telescope' | 'lens';

export interface StudyNight {
  readonly number: number;
  readonly optics: Optics;
  readonly frames: number;
  readonly totalTurnDeg: number;
  readonly plan: NightPlan;
  /** What the person says of the site: its air is off by a per cent from what the stars went through. */
  readonly saidSite: Site;
}

export interface Wanted {
  readonly optics?: Optics;
  readonly frames?: number;
  readonly totalTurnDeg?: number;
}

/** Rendering tens of thousands of faint stars takes most of the time; a fifth of them is still far more than the catalogue has. */
const FEWER_FAINT = 0.2;

/**
 * Night number `number`. Fields from 0.7° (telescopes) to 50° (lenses): narrower ones may hold fewer than seven catalogue stars, and
 * are refused then. Optics, site from 10° to 70° of either hemisphere, weather, mount and errors are drawn at random unless wanted.
 */
export function studyNight(number: number, wanted: Wanted = {}): StudyNight {
  const random = makeRandom(`night ${number}`);
  const between = (a: number, b: number): number => a + (b - a) * random.uniform();
  const pick = <T>(values: readonly T[]): T => values[Math.floor(random.uniform() * values.length)]!;
  const optics = wanted.optics ?? pick<Optics>(['guide scope', 'guide scope', 'telescope', 'lens']);
  const frames = wanted.frames ?? pick([2, 3, 3, 3, 4, 5]);
  const totalTurnDeg = wanted.totalTurnDeg ?? between(10, 90);
  const latitudeDeg = pick([1, -1]) * between(10, 70);
  const elevationMetres = between(0, 2500);
  const said = { latitudeDeg, longitudeDeg: between(-180, 180), elevationMetres, temperatureCelsius: between(-10, 25) };
  const saidSite = makeSite({ ...said, pressureHectopascal: makeSite(said).pressureHectopascal });
  const site: Site = { ...saidSite, pressureHectopascal: saidSite.pressureHectopascal * (1 + 0.01 * random.normal()) };
  const startUtc = new Date(Date.UTC(2025 + Math.floor(between(0, 6)), 0, 1) + between(0, 365) * 86_400_000);
  startUtc.setUTCMilliseconds(0);
  const way = pick([1, -1]);
  const rotationsDeg = Array.from({ length: frames }, (_, i) => (way * totalTurnDeg * i) / (frames - 1));
  const base = ordinaryNight(site, startUtc);
  const common: NightPlan = {
    ...base,
    rotationsDeg,
    tracking: pick([true, false]),
    mirrored: pick([true, false]),
    altitudeErrorArcmin: between(-60, 60),
    azimuthErrorArcmin: between(-60, 60),
    rollDeg: between(0, 360),
    pointingDirectionDeg: between(0, 360),
    intervalSeconds: between(20, 90),
    fwhmPixels: between(1.8, 4),
    moffatBeta: between(2.5, 4.5),
    elongation: between(1, 1.25),
    elongationDirectionDeg: between(0, 180),
    vignetting: between(0, 0.4),
    hotPixelsPerMillion: between(0, 200),
    skyElectrons: 0,
    seed: number,
  };
  const dark = between(19, 21.5);
  const lit = (
    change: Partial<NightPlan> & { focalLengthMillimetres: number; pixelSizeMicrometres: number; exposureSeconds: number },
    aperture: number,
  ): NightPlan => {
    const electronsAtMagnitude0 = starlight(aperture);
    const scale = (change.pixelSizeMicrometres / change.focalLengthMillimetres) * 206.265;
    return {
      ...common, ...change, electronsAtMagnitude0,
      skyElectrons: skylight(dark, electronsAtMagnitude0, change.exposureSeconds, scale),
    };
  };
  if (optics === 'guide scope') {
    const focal = between(120, 240);
    const plan = lit({
      focalLengthMillimetres: focal, pixelSizeMicrometres: between(3.4, 5.5), exposureSeconds: between(2, 6), width: 960, height: 640,
      pointingOffsetDeg: between(0, 1.2), distortion: [between(-3, 3)],
    }, pick([30, 50]));
    return { number, optics, frames, totalTurnDeg, plan, saidSite };
  }
  if (optics === 'telescope') {
    const focal = between(450, 900);
    const plan = lit({
      focalLengthMillimetres: focal, pixelSizeMicrometres: between(9, 12), exposureSeconds: between(6, 20), width: 1200, height: 900,
      pointingOffsetDeg: between(0, 0.6), distortion: [between(-5, 5)], uncataloguedDensity: FEWER_FAINT,
    }, pick([80, 120, 150]));
    return { number, optics, frames, totalTurnDeg, plan: { ...plan, tracking: true }, saidSite };
  }
  const focal = between(24, 85);
  const plan = lit({
    focalLengthMillimetres: focal, pixelSizeMicrometres: between(14, 22), exposureSeconds: between(4, 10), width: 1100, height: 740,
    pointingOffsetDeg: between(0, 6), distortion: [between(-0.12, 0.08), between(-0.02, 0.02)],
    principalPointOffset: { x: between(-8, 8), y: between(-8, 8) }, uncataloguedDensity: FEWER_FAINT,
  }, focal / 3.5);
  return { number, optics, frames, totalTurnDeg, plan, saidSite };
}

/** Altitude of the pole, degrees. */
export function poleAltitudeDeg({ plan }: StudyNight): number {
  return Math.abs(plan.site.latitude) / DEGREE;
}
