import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import type { Guiding, ImpliedAxis } from '../../src/run/impliedAxis.js';
import { impliedAxis } from '../../src/run/impliedAxis.js';
import { registerField } from '../../src/run/registerField.js';
import { stretchesOf } from '../../src/run/series.js';
import { targetPose } from '../../src/run/targetPose.js';
import { axisError, horizontal } from '../../src/axis/axisError.js';
import { elevatedPole, axisDirection, axisPlace } from '../../src/simulate/mount.js';
import { planLens } from '../../src/simulate/night.js';
import { starlight } from '../../src/simulate/nightPlan.js';
import { makeRandom } from '../../src/simulate/random.js';
import { directionAtHourAngle } from '../../src/run/targetPose.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { trackedNight } from './trackedNight.js';

/** Invented tracked nights of all kinds, and how the axis they imply compares with the one they were made with. */
export interface StudiedNight {
  readonly seed: number;
  readonly guiding: Guiding;
  readonly minutes: number;
  /** Found minus true along altitude and azimuth (arcmin), and in sigmas; likewise along the best-known combination. */
  readonly altitude: number;
  readonly azimuth: number;
  readonly inSigmas: readonly [altitude: number, azimuth: number, best: number, worst: number];
  readonly implied: ImpliedAxis;
}

/** Night number `seed`: site, target, error, drive and frames at random within what people do. Null where no field was found. */
export function studyNight(seed: number, wish: { guiding?: Guiding; minutes?: number } = {}): StudiedNight | null {
  const random = makeRandom(`tracked night ${seed}`);
  const between = (a: number, b: number): number => a + (b - a) * random.uniform();
  const south = random.uniform() < 0.4;
  const site = makeSite({
    latitudeDeg: (south ? -1 : 1) * between(20, 58), longitudeDeg: between(-180, 180), elevationMetres: between(0, 2000),
  });
  const guiding: Guiding = wish.guiding ?? (random.uniform() < 0.5 ? 'unguided' : 'guided');
  const startUtc = new Date(Date.UTC(2026, 0, 1) + random.uniform() * 3.15e10);
  const sky = makeLocalSky(startUtc, site);
  let declinationDeg = 0, hourAngleHours = 0;
  do {
    declinationDeg = between(-60, 85) * (south ? -1 : 1);
    hourAngleHours = between(-5, 5);
  } while (horizontal(sky.toLocal(directionAtHourAngle(
    sky, declinationDeg * DEGREE, hourAngleHours * 15 * DEGREE,
  ))).altitude < 30 * DEGREE);
  const frames = Math.round(between(6, 20));
  const minutes = wish.minutes ?? (guiding === 'guided' ? between(30, 240) : between(8, 40));
  const size = 10 ** between(-0.3, 1.7);
  const toward = between(0, 2 * Math.PI);
  const intervalSeconds = (minutes * 60) / (frames - 1);
  const guided = guiding !== 'unguided';
  const night = trackedNight({
    site, startUtc, seed, intervalSeconds, exposureSeconds: Math.min(60, intervalSeconds * 0.9),
    altitudeErrorArcmin: size * Math.cos(toward), azimuthErrorArcmin: size * Math.sin(toward),
    electronsAtMagnitude0: starlight(between(20, 60)), mirrored: random.uniform() < 0.5, rollDeg: between(0, 360),
    focalLengthMillimetres: between(250, 800),
  }, { declinationDeg, hourAngleHours, frames }, {
    rateArcsecPerMinute: between(-2, 2), periodicArcsec: between(0, 15), periodSeconds: between(200, 640), phaseDeg: between(0, 360),
    jitterArcsec: between(0.1, 1), ditherArcsec: guided && random.uniform() < 0.5 ? between(2, 30) : 0,
    guideStar: guided ? { xDeg: between(-0.8, 0.8), yDeg: between(-0.8, 0.8) } : null,
  }, { wander: between(0.02, 0.15), missed: between(0, 0.3) });
  const { plan, skies } = night;
  const field = registerField(night.stars, plan.width, plan.height);
  if (!field) return null;
  // Told with an honest error: position angle to 0.5°, scale to 0.5 %.
  const orientation = { ...night.orientation, rowAngle: night.orientation.rowAngle + 0.5 * DEGREE * random.normal() };
  const lens = { ...planLens(plan), focalPixels: planLens(plan).focalPixels * (1 + 0.005 * random.normal()) };
  const hemisphere = elevatedPole(site.latitude);
  const geometry = { hemisphere, skies, lens, pose: targetPose(skies[field.reference]!, night.icrs, orientation) };
  const seconds = skies.map((s) => s.time.getTime() / 1000);
  const stretches = stretchesOf(seconds, field.frames.map((f) => f?.fit.shiftX ?? 0), field.frames.map((f) => f?.fit.shiftY ?? 0), 3);
  const implied = impliedAxis(
    field, geometry, site, stretches, guiding, { orientation: 0.5 * DEGREE, scale: 0.005, pointing: 0.05 * DEGREE, air: 0.05 }, 'refracted',
  );
  if (!implied) return null;
  const pole = sky.refractedPole(hemisphere);
  const truth = axisError(axisDirection(axisPlace(plan, 0)), pole);
  const altitude = implied.fromRefractedPole.altitude - truth.altitude, azimuth = implied.fromRefractedPole.azimuth - truth.azimuth;
  const onSky = azimuth * Math.cos(horizontal(pole).altitude);
  const along = implied.combinations.map((c) => (c.up * altitude + c.east * onSky) / c.sigma);
  return {
    seed, guiding, minutes, altitude: altitude / ARCMINUTE, azimuth: azimuth / ARCMINUTE, implied,
    inSigmas: [altitude / implied.sigma.altitude, azimuth / implied.sigma.azimuth, along[0]!, along[1]!],
  };
}

/** Share within two sigmas and root mean square, of altitude, azimuth, best and worst known combination. */
export function coverage(nights: readonly StudiedNight[]): { within2: number[]; within1: number[]; rms: number[] } {
  const of = (k: number): number[] => nights.map((n) => Math.abs(n.inSigmas[k]!));
  const share = (k: number, most: number): number => of(k).filter((z) => z < most).length / nights.length;
  return {
    within2: [0, 1, 2, 3].map((k) => share(k, 2)), within1: [0, 1, 2, 3].map((k) => share(k, 1)),
    rms: [0, 1, 2, 3].map((k) => Math.sqrt(of(k).reduce((sum, z) => sum + z * z, 0) / nights.length)),
  };
}

if (process.argv[1]?.endsWith('study.ts')) {
  const count = Number(process.argv[2] ?? 200);
  const nights = Array.from({ length: count }, (_, seed) => studyNight(seed)).flatMap((n) => (n ? [n] : []));
  const show = (name: string, some: readonly StudiedNight[]): void => {
    const { within1, within2, rms } = coverage(some);
    const text = (v: number[]): string => v.map((x) => x.toFixed(3)).join(' ');
    console.log(
      `${name}: ${some.length} nights; within 1 sigma ${text(within1)}; within 2 ${text(within2)}; rms ${text(rms)} (altitude, azimuth, `
        + 'best, worst known)',
    );
    const sigmas = some.map((n) => n.implied.combinations[0].sigma / ARCMINUTE).sort((a, b) => a - b);
    console.log(`  best known combination: median sigma ${sigmas[sigmas.length >> 1]?.toFixed(2)}′`);
  };
  show('all', nights);
  show('unguided', nights.filter((n) => n.guiding === 'unguided'));
  show('guided', nights.filter((n) => n.guiding === 'guided'));
  for (const n of nights) if (Math.max(...n.inSigmas.map(Math.abs)) > 3) console.log(
    '  far off:', n.seed, n.guiding, n.inSigmas.map((z) => z.toFixed(1)).join(' '),
  );
  const ten = Array.from(
    { length: Math.min(40, count) }, (_, seed) => studyNight(1000 + seed, { guiding: 'unguided', minutes: 10 }),
  ).flatMap((n) => (n ? [n] : []));
  show('unguided, 10 minutes', ten);
  const errors = ten.map((n) => Math.hypot(n.altitude, n.azimuth * Math.cos(Math.asin(Math.min(1, Math.abs(n.implied.axis[2])))))).sort(
    (a, b) => a - b,
  );
  console.log(
    `  error on the sky: median ${errors[errors.length >> 1]?.toFixed(2)}′, 9 in 10 below `
      + `${errors[Math.floor(0.9 * errors.length)]?.toFixed(2)}′`,
  );
}
