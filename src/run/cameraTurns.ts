import { type Rotation, apply, compose, fromRotationVector, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, cross, dot, unit } from '../geometry/vector.js';
import { type Lens, toDirection, toPixel } from '../identify/lens.js';
import { type Hemisphere, type LocalSky } from '../sky/localSky.js';
import { fitPlane } from './planeFit.js';
import { type RegisteredField, freedomLeft, sightingsOf } from './registerField.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';

/** Where a registered field is and how the camera looks at it. */
export interface FieldGeometry {
  readonly hemisphere: Hemisphere;
  /** The sky at each frame's mid-exposure; entry `reference` is that of the template. */
  readonly skies: readonly LocalSky[];
  readonly lens: Lens;
  /** Camera to local at the reference frame. */
  readonly pose: Rotation;
}

/**
 * The three directions in which a camera on an equatorial mount can be turned from where a given axis would have carried it: about the axis
 * itself (the drive), about the declination axis, and about the third at right angles to both, which no motor of the mount can do. All
 * effects of an axis error are in the last two.
 */
export interface MountBasis {
  /** Local directions at the reference frame. */
  readonly axis: Vector;
  readonly declination: Vector;
  readonly third: Vector;
  /** Where the camera looks, and at right angles to it toward the axis. */
  readonly forward: Vector;
  readonly north: Vector;
  /** Angle of the line of sight above the plane at right angles to the axis: the declination counted from the axis' pole. */
  readonly elevation: number;
}

/** How far the camera is turned from where the axis would have carried it, radians; a rotation vector along {@link MountBasis}. */
export interface CameraTurn {
  /** Index of the frame. */
  readonly frame: number;
  /** Since the reference frame. */
  readonly seconds: number;
  readonly aboutAxis: number;
  readonly aboutDeclination: number;
  readonly aboutThird: number;
  /** How far the field has moved in the picture since the reference frame, as turns of a camera: north and declination. */
  readonly drifted: { readonly aboutNorth: number; readonly aboutDeclination: number };
  /** One-sigma errors from the stars. */
  readonly sigma: { readonly aboutAxis: number; readonly aboutDeclination: number; readonly aboutThird: number };
}

export function mountBasis(axis: Vector, pose: Rotation): MountBasis {
  const forward = apply(pose, [0, 0, 1]);
  const declination = unit(cross(axis, forward));
  const third = cross(declination, axis);
  const elevation = Math.atan2(dot(forward, axis), dot(forward, third));
  return { axis, declination, third, forward, north: cross(forward, declination), elevation };
}

const ROUNDS = 4;

/** Turns of the camera in every frame of the field, relative to a mount that follows the stars exactly about `axis`. */
export function cameraTurns(field: RegisteredField, geometry: FieldGeometry, axis: Vector): CameraTurn[] {
  const { skies, lens, pose, hemisphere } = geometry;
  const { template, reference } = field;
  const basis = mountBasis(axis, pose);
  const toCamera = inverse(pose);
  const along = [basis.axis, basis.declination, basis.third].map((v) => apply(toCamera, v));
  const home = skies[reference]!;
  const icrs = new Float64Array(3 * template.x.length);
  template.x.forEach((x, k) => icrs.set(home.fromLocal(apply(pose, toDirection(lens, x, template.y[k]!))), 3 * k));
  const sightings = sightingsOf(field);
  const parity = lens.mirrored ? -1 : 1;
  const centre = { x: lens.centreX, y: lens.centreY };
  const turns: CameraTurn[] = [];
  field.frames.forEach((frame, i) => {
    if (!frame) return;
    const sky = skies[i]!;
    const seconds = (sky.time.getTime() - home.time.getTime()) / 1000;
    const carried = compose(rotationAbout(axis, -hemisphere * SIDEREAL_RATE * seconds), pose);
    const directions = new Float64Array(3 * frame.star.length);
    frame.star.forEach((k, n) => directions.set(icrs.subarray(3 * k, 3 * k + 3), 3 * n));
    const local = sky.toLocalAll(directions);
    const fromX = new Float64Array(frame.star.length), fromY = new Float64Array(frame.star.length);
    let turned = carried;
    let fit = null;
    for (let round = 0; round < ROUNDS; round++) {
      const back = inverse(turned);
      for (let n = 0; n < frame.star.length; n++) {
        const pixel = toPixel(lens, apply(back, [local[3 * n]!, local[3 * n + 1]!, local[3 * n + 2]!]));
        fromX[n] = pixel?.x ?? NaN;
        fromY[n] = pixel?.y ?? NaN;
      }
      fit = fitPlane({ fromX, fromY, toX: frame.x, toY: frame.y, sigma: frame.sigma }, centre, freedomLeft(frame.star, sightings));
      if (!fit) return;
      // A camera turned by w sees a direction c at c − w × c.
      const w: Vector = [fit.shiftY / lens.focalPixels, (-parity * fit.shiftX) / lens.focalPixels, -parity * fit.rotation];
      turned = compose(turned, fromRotationVector(w));
      if (Math.hypot(fit.shiftX, fit.shiftY) < 1e-6 && Math.abs(fit.rotation) < 1e-10) break;
    }
    if (!fit) return;
    const angles = turnsAbout(compose(inverse(carried), turned), along);
    const jacobian: Vector[] = [[0, -parity / lens.focalPixels, 0], [1 / lens.focalPixels, 0, 0], [0, 0, -parity]];
    const sigmaAlong = (v: Vector): number => {
      const g = jacobian.map((row) => dot(row, v));
      let sum = 0;
      for (let r = 0; r < 3; r++) for (let k = 0; k < 3; k++) sum += g[r]! * fit.covariance[3 * r + k]! * g[k]!;
      return Math.sqrt(sum);
    };
    const moved: Vector = [frame.fit.shiftY / lens.focalPixels, (-parity * frame.fit.shiftX) / lens.focalPixels, 0];
    const [a, d, t] = along as [Vector, Vector, Vector];
    turns.push({
      frame: i, seconds, ...angles,
      drifted: { aboutNorth: dot(moved, apply(toCamera, basis.north)), aboutDeclination: dot(moved, d) },
      sigma: { aboutAxis: sigmaAlong(a), aboutDeclination: sigmaAlong(d), aboutThird: sigmaAlong(t) },
    });
  });
  return turns;
}

/**
 * A rotation of the camera as turns about the third, declination and right-ascension axis, in this order: as a mount would make them, so
 * that a large step of the motors leaves nothing in the third.
 */
function turnsAbout(
  r: Rotation, [axis, declination, third]: readonly Vector[],
): Pick<CameraTurn, 'aboutAxis' | 'aboutDeclination' | 'aboutThird'> {
  const part = (to: Vector, from: Vector): number => dot(to, apply(r, from));
  return {
    aboutDeclination: -Math.asin(Math.max(-1, Math.min(1, part(axis!, third!)))),
    aboutAxis: Math.atan2(part(declination!, third!), part(third!, third!)),
    aboutThird: Math.atan2(part(axis!, declination!), part(axis!, axis!)),
  };
}
