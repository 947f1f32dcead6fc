import { DEGREE, wrapPositive } from '../geometry/angle.js';
import { type Rotation, inverse } from '../geometry/rotation.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import { type LocalSky } from '../sky/localSky.js';
import { refractDirection } from '../sky/refraction.js';
import { directionOf } from './misalignedMount.js';

/** How a picture lies on the sky. */
export interface FieldOrientation {
  /** Position angle of the direction of rising x (along a row): from north through east, radians. */
  readonly rowAngle: number;
  /** As in `Lens`: false = the picture looks like the sky when x runs right and y down. */
  readonly mirrored: boolean;
  /** One sigma of the position angle, radians. */
  readonly sigma: number;
}

/** Pose (camera to local) of a camera that looks at an ICRS direction with this orientation. */
export function targetPose(sky: LocalSky, icrs: Vector, { rowAngle, mirrored }: FieldOrientation): Rotation {
  const forward = unit(sky.toLocal(icrs));
  const step = 1e-5;
  const towardPole: Vector = unit(subtract([0, 0, 1], scale(icrs, icrs[2])));
  const beyond = sky.toLocal(unit(add(icrs, scale(towardPole, step))));
  const north = unit(subtract(beyond, scale(forward, dot(beyond, forward))));
  const east = cross(north, forward);
  const row = add(scale(north, Math.cos(rowAngle)), scale(east, Math.sin(rowAngle)));
  const x = mirrored ? scale(row, -1) : row;
  const y = cross(forward, x);
  return inverse([...x, ...y, ...forward]);
}

/**
 * The orientation of a picture whose displayed upper edge has this position angle (degrees, from north through east).
 * @param shownMirrored the display is the sky's mirror image
 * @param firstRowBottom the format shows the first stored row at the bottom (FITS)
 */
export function shownOrientation(
  positionAngleDeg: number, shownMirrored: boolean, firstRowBottom: boolean, sigma: number,
): FieldOrientation {
  return {
    // With north up, east is left: the position angle of the right-hand side is a quarter turn less than that of the upper edge.
    rowAngle: wrapPositive((positionAngleDeg + (shownMirrored ? 90 : -90)) * DEGREE),
    mirrored: firstRowBottom ? !shownMirrored : shownMirrored,
    sigma,
  };
}

/** The orientation from the sky directions of both pixel axes: (north, east) components per pixel. */
export function axesOrientation(alongX: readonly [number, number], alongY: readonly [number, number], sigma: number): FieldOrientation {
  const turn = alongX[0] * alongY[1] - alongX[1] * alongY[0];
  // As on the sky, the position angle of y (down) is a quarter turn less than that of x.
  return { rowAngle: wrapPositive(Math.atan2(alongX[1], alongX[0])), mirrored: turn > 0, sigma };
}

/** ICRS direction of a declination of date and hour angle (radians, west positive; no air) over the site. */
export function directionAtHourAngle(sky: LocalSky, declination: number, hourAngle: number): Vector {
  const local = directionOf({ hourAngle, declination }, sky.site?.latitude ?? Math.PI / 2);
  return sky.fromLocal(refractDirection(sky.refraction, local));
}
