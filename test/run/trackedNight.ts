import { DEGREE } from '../../src/geometry/angle.js';
import { toSpherical } from '../../src/geometry/vector.js';
import type { Place } from '../../src/run/matchFields.js';
import { type FieldOrientation } from '../../src/run/targetPose.js';
import { apply } from '../../src/geometry/rotation.js';
import { type Drive, STEADY_DRIVE } from '../../src/simulate/drive.js';
import { drivenPose } from '../../src/simulate/drivenPose.js';
import { frameTruth, planNight } from '../../src/simulate/night.js';
import { type NightPlan, ordinaryNight, starlight } from '../../src/simulate/nightPlan.js';
import { type Random, makeRandom } from '../../src/simulate/random.js';
import { type TrackedTarget, trackedPlan } from '../../src/simulate/trackedPlan.js';
import { type LocalSky, makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { catalogue } from '../simulate/catalogue.js';

/** An invented tracked night as lists of stars. */
export interface TrackedNight {
  readonly plan: NightPlan;
  readonly skies: LocalSky[];
  readonly stars: Place[][];
  /** ICRS direction the camera looks at in the first frame, and how the picture lies there. */
  readonly icrs: readonly [number, number, number];
  readonly orientation: FieldOrientation;
}

export interface Spoiling {
  /** One-sigma wander of each star by the air, pixels. */
  readonly wander: number;
  /** Share of the stars that are missed, and of spots that are none. */
  readonly missed: number;
}

/** An invented site. */
export const SITE = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });

export const PLAN: NightPlan = {
  ...ordinaryNight(SITE, new Date('2026-11-25T20:00:00Z')),
  focalLengthMillimetres: 400, pixelSizeMicrometres: 3.76, width: 1600, height: 1066, exposureSeconds: 60, intervalSeconds: 65,
  electronsAtMagnitude0: starlight(60), skyElectrons: 400, fwhmPixels: 3,
};

/** Star lists of a tracked night: true places at mid-exposure, with the errors that photons (King 1983) and air give them. */
export function trackedNight(
  change: Partial<NightPlan>, target: TrackedTarget, drive: Partial<Drive>, spoil: Spoiling = { wander: 0.05, missed: 0.1 },
): TrackedNight {
  const plan = trackedPlan({ ...PLAN, ...change }, target, { ...STEADY_DRIVE, ...drive });
  const night = planNight(plan, catalogue);
  const random = makeRandom(plan.seed).stream('lists');
  const skies: LocalSky[] = [];
  const stars = plan.rotationsDeg.map((_, frame) => {
    const truth = frameTruth(night, frame);
    skies.push(makeLocalSky(truth.midUtc, plan.site));
    return listOf(truth.stars, plan, random, spoil);
  });
  const sky = skies[0]!;
  const pose = drivenPose(plan, 0, plan.exposureSeconds / 2);
  const icrs = sky.fromLocal(apply(pose, [0, 0, 1]));
  return { plan, skies, stars, icrs: [icrs[0], icrs[1], icrs[2]], orientation: orientationOf(plan, sky) };
}

/** Where north is in a frame, from the simulator's own pose: the position angle of rising x by a finite step. */
function orientationOf(plan: NightPlan, sky: LocalSky): FieldOrientation {
  const pose = drivenPose(plan, 0, plan.exposureSeconds / 2);
  const parity = plan.mirrored ? 1 : -1;
  const at = (x: number): { longitude: number; latitude: number } => toSpherical(sky.fromLocal(apply(pose, [x, 0, 1 - x * x / 2])));
  const a = at(0), b = at(parity * 1e-5);
  return {
    rowAngle: Math.atan2((b.longitude - a.longitude) * Math.cos(a.latitude), b.latitude - a.latitude), mirrored: !plan.mirrored,
    sigma: 0.2 * DEGREE,
  };
}

function listOf(
  { count, x, y, electrons }: { count: number; x: Float64Array; y: Float64Array; electrons: Float64Array }, plan: NightPlan, random: Random,
  { wander, missed }: Spoiling,
): Place[] {
  const list: (Place & { light: number })[] = [];
  for (let k = 0; k < count; k++) {
    const noise = Math.sqrt(electrons[k]! + Math.PI * plan.fwhmPixels ** 2 * (plan.skyElectrons + plan.readNoise ** 2));
    const sigma = Math.hypot((0.6 * plan.fwhmPixels * noise) / electrons[k]!, 0.01);
    if (electrons[k]! / noise < 8 || random.uniform() < missed) continue;
    const off = Math.hypot(sigma, wander);
    list.push({
      x: x[k]! + off * random.normal(), y: y[k]! + off * random.normal(), sigma, light: electrons[k]! * Math.exp(0.1 * random.normal()),
    });
  }
  for (let k = Math.round(missed * list.length); k > 0; k--) {
    list.push({
      x: random.uniform() * plan.width, y: random.uniform() * plan.height, sigma: 0.1,
      light: list[Math.floor(random.uniform() * list.length)]?.light ?? 1,
    });
  }
  return list.sort((a, b) => b.light - a.light);
}
