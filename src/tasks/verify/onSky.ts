import type { FieldDrift } from '../../run/fieldDrift.js';
import type { FieldOrientation } from '../../run/targetPose.js';

/** North and east components of a pixel vector. */
export function onSky({ rowAngle, mirrored }: FieldOrientation, x: number, y: number): { north: number; east: number } {
  const columnAngle = rowAngle + (mirrored ? Math.PI / 2 : -Math.PI / 2);
  return { north: x * Math.cos(rowAngle) + y * Math.cos(columnAngle), east: x * Math.sin(rowAngle) + y * Math.sin(columnAngle) };
}

/** Scatter of the field about its drift along right ascension and declination, pixels. */
export function skyScatter(drift: FieldDrift, orientation: FieldOrientation): { rightAscension: number; declination: number } {
  let east2 = 0, north2 = 0;
  drift.x.residuals.forEach((x, k) => {
    const { north, east } = onSky(orientation, x, drift.y.residuals[k]!);
    east2 += east * east;
    north2 += north * north;
  });
  const freedom = Math.max(1, drift.x.freedom);
  return { rightAscension: Math.sqrt(east2 / freedom), declination: Math.sqrt(north2 / freedom) };
}
