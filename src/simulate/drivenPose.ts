import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import { type LocalSky, makeLocalSky } from '../sky/localSky.js';
import type { Drive, ShaftTurns } from './drive.js';
import { cameraPose } from './mount.js';
import type { NightPlan } from './nightPlan.js';
import { makeRandom } from './random.js';

/** Camera -> local frame `seconds` after the start of the first frame, with the drive's errors. */
export function drivenPose(plan: NightPlan, frame: number, seconds: number): Rotation {
  const { drive } = plan;
  if (!drive) return cameraPose(plan, frame, seconds);
  const moved = strayed(plan, drive, frame, seconds);
  if (!drive.guideStar) return cameraPose(plan, frame, seconds, moved);
  return guidedPose(plan, drive.guideStar, frame, seconds, moved);
}

function strayed(plan: NightPlan, drive: Drive, frame: number, seconds: number): ShaftTurns {
  const random = makeRandom(plan.seed).stream(`drive ${frame}`);
  const fromAxis = Math.max(0.01, Math.abs(Math.sin(plan.pointingOffsetDeg * DEGREE)));
  const wander = (): number => drive.jitterArcsec * random.normal();
  const step = (): number => (frame > 0 ? drive.ditherArcsec * (2 * random.uniform() - 1) : 0);
  const phase = (2 * Math.PI * seconds) / drive.periodSeconds + drive.phaseDeg * DEGREE;
  const gear = drive.guideStar ? 0 : (drive.rateArcsecPerMinute * seconds) / 60 + drive.periodicArcsec * Math.sin(phase);
  const west = gear + (wander() + step()) / fromAxis;
  const declination = wander() + step() + (drive.flexureArcsecPerHour * seconds) / 3600;
  return { west: west * ARCSECOND, declination: declination * ARCSECOND };
}

/** The guider: both shafts are turned until the guide star is where it was at first, and then moves with the air. */
function guidedPose(plan: NightPlan, star: NonNullable<Drive['guideStar']>, frame: number, seconds: number, moved: ShaftTurns): Rotation {
  const guide: Vector = [Math.tan(star.xDeg * DEGREE), Math.tan(star.yDeg * DEGREE), 1];
  const length = Math.hypot(...guide);
  const home: Vector = [guide[0] / length, guide[1] / length, guide[2] / length];
  const skyAfter = (s: number): LocalSky => makeLocalSky(new Date(plan.startUtc.getTime() + s * 1000), plan.site);
  const icrs = skyAfter(0).fromLocal(apply(cameraPose(plan, 0, 0), home));
  const there = skyAfter(seconds).toLocal(icrs);
  const off = (west: number, declination: number): [number, number] => {
    const seen = apply(inverse(cameraPose(plan, frame, seconds, { west, declination })), there);
    return [seen[0] / seen[2] - guide[0], seen[1] / seen[2] - guide[1]];
  };
  let west = 0, declination = 0;
  const h = 1e-5;
  for (let round = 0; round < 6; round++) {
    const [x, y] = off(west, declination);
    if (Math.hypot(x, y) < 1e-11) break;
    const [xw, yw] = off(west + h, declination), [xd, yd] = off(west, declination + h);
    const a = (xw - x) / h, b = (xd - x) / h, c = (yw - y) / h, d = (yd - y) / h;
    const determinant = a * d - b * c;
    west -= (d * x - b * y) / determinant;
    declination -= (a * y - c * x) / determinant;
  }
  return cameraPose(plan, frame, seconds, { west: west + moved.west, declination: declination + moved.declination });
}
