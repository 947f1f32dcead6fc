/** Invented nights whose frames look anywhere above 15°, each fixed by its number: what the study and the test solve. */
import { axisError, horizontal } from '../../src/axis/axisError.js';
import type { Aim } from '../../src/axis/axisResult.js';
import { type Frame, type Sourced } from '../../src/frames/frame.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { apply, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, cross, fromSpherical, toSpherical, unit } from '../../src/geometry/vector.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { directionAtHourAngle } from '../../src/run/targetPose.js';
import { axisDirection, axisPlace, cameraPose, headPose } from '../../src/simulate/mount.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { type NightPlan, ordinaryNight, skylight, starlight } from '../../src/simulate/nightPlan.js';
import { type Random, makeRandom } from '../../src/simulate/random.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { type Site, makeSite } from '../../src/sky/site.js';
import { frameOf, measure } from '../../src/tasks/measure/measure.js';

export type Hint = 'place' | 'scale' | 'nothing';

export interface AnywhereNight {
  readonly number: number;
  readonly optics: 'lens' | 'guide scope' | 'telescope';
  readonly hint: Hint;
  /** From the elevated pole. */
  readonly fromPoleDeg: number;
  readonly lowestDeg: number;
  readonly turnDeg: number;
  readonly plan: NightPlan;
  /** What the person says of pressure and temperature; null: nothing. */
  readonly air: { readonly pressureHectopascal: number; readonly temperatureCelsius: number } | null;
}

const LOWEST = 15;

/** Night number `number`: drawn again until all its frames stand above 15°. */
export function anywhereNight(number: number): AnywhereNight {
  const random = makeRandom(`anywhere night ${number}`);
  for (;;) {
    const night = drawn(number, random);
    if (night) return night;
  }
}

function drawn(number: number, random: Random): AnywhereNight | null {
  const between = (a: number, b: number): number => a + (b - a) * random.uniform();
  const pick = <T>(values: readonly T[]): T => values[Math.floor(random.uniform() * values.length)]!;
  const optics = pick(['lens', 'guide scope', 'guide scope', 'telescope'] as const);
  const frames = pick([2, 3, 3, 4, 5]);
  const turnDeg = between(25, 90);
  const latitudeDeg = pick([1, -1]) * between(10, 65);
  const said = { latitudeDeg, longitudeDeg: between(-180, 180), elevationMetres: between(0, 2000) };
  const standard = makeSite(said);
  // The night's air is not the standard one; what a barometer and a thermometer say is nearly right.
  const air = {
    pressureHectopascal: standard.pressureHectopascal * (1 + 0.012 * random.normal()),
    temperatureCelsius: standard.temperatureCelsius + 11 * random.normal(),
  };
  const told = random.uniform() >= 0.5 ? null : {
    pressureHectopascal: air.pressureHectopascal * (1 + 0.004 * random.normal()),
    temperatureCelsius: air.temperatureCelsius + 2 * random.normal(),
  };
  const site: Site = makeSite({ ...said, ...air });
  const startUtc = new Date(Date.UTC(2025 + Math.floor(between(0, 6)), 0, 1) + between(0, 365) * 86_400_000);
  startUtc.setUTCMilliseconds(0);
  const far = random.uniform() < 0.15;
  const errors = far ? 600 : 120;
  const base: NightPlan = {
    ...ordinaryNight(site, startUtc),
    rotationsDeg: Array.from({ length: frames }, (_, i) => (turnDeg * i) / (frames - 1)),
    tracking: pick([true, false]), mirrored: pick([true, false]),
    altitudeErrorArcmin: between(-errors, errors), azimuthErrorArcmin: between(-errors, errors),
    rollDeg: between(0, 360), intervalSeconds: between(20, 90), fwhmPixels: between(1.8, 4), moffatBeta: between(2.5, 4.5),
    vignetting: between(0, 0.4), hotPixelsPerMillion: between(0, 200), uncataloguedDensity: 0.2, seed: number,
  };
  type Lit = Partial<NightPlan> & Pick<NightPlan, 'focalLengthMillimetres' | 'pixelSizeMicrometres' | 'exposureSeconds'>;
  const lit = (change: Lit, aperture: number): NightPlan => {
    const electronsAtMagnitude0 = starlight(aperture);
    const scale = (change.pixelSizeMicrometres / change.focalLengthMillimetres) * 206.265;
    const skyElectrons = skylight(between(19, 21.5), electronsAtMagnitude0, change.exposureSeconds, scale);
    return { ...base, ...change, electronsAtMagnitude0, skyElectrons };
  };
  const focal = optics === 'lens' ? between(24, 85) : optics === 'guide scope' ? between(120, 240) : between(400, 750);
  const common = { focalLengthMillimetres: focal };
  const plan = optics === 'lens' ? lit({
    ...common, pixelSizeMicrometres: between(14, 22), exposureSeconds: between(4, 10), width: 1100, height: 740,
    distortion: [between(-0.08, 0.05)],
  }, focal / 3.5) : optics === 'guide scope' ? lit({
    ...common, pixelSizeMicrometres: between(3.4, 5.5), exposureSeconds: between(3, 8), width: 960, height: 640,
  }, pick([30, 50])) : lit({
    ...common, pixelSizeMicrometres: between(9, 14), exposureSeconds: between(8, 20), width: 1200, height: 900, tracking: true,
  }, pick([80, 120]));
  const fromPoleDeg = between(15, 120);
  const sky = makeLocalSky(startUtc, site);
  const declination = Math.sign(latitudeDeg) * (90 - fromPoleDeg) * DEGREE;
  const icrs = directionAtHourAngle(sky, declination, between(-180, 180) * DEGREE);
  const local = sky.toLocal(icrs);
  if (local[2] < 0) return null;
  const [x, y, z]: Vector = unit(apply(inverse(headPose(axisPlace(plan, 0))), local));
  const looking: NightPlan = {
    ...plan, pointingOffsetDeg: Math.atan2(Math.hypot(x, y), z) / DEGREE, pointingDirectionDeg: Math.atan2(y, x) / DEGREE,
  };
  const lowestDeg = Math.min(...looking.rotationsDeg.map((_, i) => {
    const pose = cameraPose(looking, i, i * looking.intervalSeconds);
    return horizontal([pose[2], pose[5], pose[8]]).altitude / DEGREE;
  }));
  if (lowestDeg < LOWEST) return null;
  const hint = pick<Hint>(['place', 'place', 'scale', 'nothing']);
  return { number, optics, hint, fromPoleDeg, lowestDeg, turnDeg, plan: looking, air: told };
}

export interface SolvedAnywhere {
  readonly night: AnywhereNight;
  /** Why it was not measured; empty where it was. */
  readonly why: string;
  /** Found minus true in units of the stated sigma, and in arcminutes. */
  readonly z: Readonly<Record<'altitude' | 'azimuth' | 'separation', number>>;
  readonly missArcmin: number;
  readonly sigmaArcmin: number;
  readonly identified: readonly number[];
}

/** Renders a night and measures it as a person's program would. */
export function solveAnywhere(night: AnywhereNight, aim: Aim = 'refracted'): SolvedAnywhere {
  const { plan, hint, air } = night;
  const random = makeRandom(`headers ${night.number}`);
  const prepared = planNight(plan, embeddedCatalogue());
  const frames = plan.rotationsDeg.map((_, i): Frame => {
    const { image, truth } = renderFrame(prepared, i);
    const frame = frameOf(`frame ${i + 1}`, image, truth.midUtc);
    const { pose } = truth;
    return withHints(frame, plan, hint, makeLocalSky(truth.midUtc, plan.site).fromLocal([pose[2], pose[5], pose[8]]), random);
  });
  const { latitude, longitude, elevationMetres } = plan.site;
  const site = { latitudeDeg: latitude / DEGREE, longitudeDeg: longitude / DEGREE, elevationMetres, ...air };
  const sky = makeLocalSky(plan.startUtc, plan.site);
  const hemisphere = latitude < 0 ? -1 : 1;
  const truth = axisError(axisDirection(axisPlace(plan, 0)), aim === 'true' ? sky.truePole(hemisphere) : sky.refractedPole(hemisphere));
  try {
    const { measurement, known } = measure(frames, { catalogue: embeddedCatalogue(), site, aim });
    const found = aim === 'true' ? measurement.fromTruePole : measurement.fromRefractedPole;
    const z = (key: 'altitude' | 'azimuth' | 'separation'): number => (found[key] - truth[key]) / measurement.sigma[key];
    const cosine = Math.cos(horizontal(measurement.axis).altitude);
    return {
      night, why: '', z: { altitude: z('altitude'), azimuth: z('azimuth'), separation: z('separation') },
      missArcmin: Math.hypot(found.altitude - truth.altitude, (found.azimuth - truth.azimuth) * cosine) / ARCMINUTE,
      sigmaArcmin: measurement.sigma.separation / ARCMINUTE, identified: known.map((k) => k.identification.stars.length),
    };
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return { night, why, z: { altitude: NaN, azimuth: NaN, separation: NaN }, missArcmin: NaN, sigmaArcmin: NaN, identified: [] };
  }
}

/** What the header says: the lengths, and the mount's place 1.5° off. */
function withHints(frame: Frame, plan: NightPlan, hint: Hint, toward: Vector, random: Random): Frame {
  if (hint === 'nothing') return frame;
  const header = (value: number): Sourced<number> => ({ value, from: 'header' });
  const { longitude, latitude } = toSpherical(offBy(toward, 1.5 * DEGREE, random));
  return {
    ...frame,
    metadata: {
      ...frame.metadata, focalLengthMillimetres: header(plan.focalLengthMillimetres * (1 + 0.01 * random.normal())),
      pixelSizeMicrometres: header(plan.pixelSizeMicrometres),
      ...(hint === 'place' ? { pointing: { raDeg: longitude / DEGREE, decDeg: latitude / DEGREE, from: 'header', world: null } } : {}),
    },
  };
}

function offBy(direction: Vector, angle: number, random: Random): Vector {
  const other = fromSpherical(2 * Math.PI * random.uniform(), Math.asin(2 * random.uniform() - 1));
  return apply(rotationAbout(unit(cross(direction, other)), angle), direction);
}
