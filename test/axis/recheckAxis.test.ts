import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { measureAxis } from '../../src/axis/measureAxis.js';
import type { MountView } from '../../src/axis/mountView.js';
import { type Recheck, recheckAxis } from '../../src/axis/recheckAxis.js';
import { PolewardError } from '../../src/error.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { cross, unit } from '../../src/geometry/vector.js';
import { stateOfView, viewOfState } from '../../src/night/record/axisState.js';
import { makeSite } from '../../src/sky/site.js';
import { SITE, seeNight } from './sightings.js';

/** Measures an axis, turns knobs (arcminutes, + raise and east) and the axis (degrees), and rechecks from one more frame. */
function adjust(raise: number, east: number, turnDeg: number, seed: number, minutes = 1): { recheck: Recheck; goal: { altitude: number; azimuth: number } } {
  const start = { altitudeErrorArcmin: 14, azimuthErrorArcmin: -22 };
  const night = { ...start, sigmaPixels: 0.05, stars: 250, seed, minutesApart: minutes };
  const turned = seeNight({ ...night, turnsDeg: [0, 35, 70] });
  const view = measureAxis(turned.frames, 'true').view;
  // The knobs as rotations of the mount: first the axis turned, then raised about the horizontal, then turned about the vertical.
  const old = axisWithError(turned.pole, start.altitudeErrorArcmin * ARCMINUTE, start.azimuthErrorArcmin * ARCMINUTE);
  const right = unit(cross(old, [0, 0, 1]));
  const knobs = compose(rotationAbout([0, 0, 1], -east * ARCMINUTE), rotationAbout(right, raise * ARCMINUTE));
  const moved = compose(knobs, rotationAbout(old, turnDeg * DEGREE));
  // The night's pose at 70° is R(axis, 70°)·pose0, and a slip acts on pose0 in the camera: pose0ᵀ·R(-70°)·moved·R(70°)·pose0.
  const pose0 = firstPose(view);
  const spin = rotationAbout(old, 70 * DEGREE);
  const slip = compose(inverse(compose(spin, pose0)), compose(moved, compose(spin, pose0)));
  const after = seeNight({ ...night, turnsDeg: [0, 35, 70, 70], slips: [null, null, null, slip] });
  const last = after.frames[3]!;
  return {
    recheck: recheckAxis(viewOfState(JSON.parse(JSON.stringify(stateOfView(view, 'true')))), last.identification, last.sky, 'true'),
    goal: { altitude: start.altitudeErrorArcmin + raise, azimuth: start.azimuthErrorArcmin + east },
  };
}

/** The pose at angle 0, good to a tenth of an arcsecond. */
function firstPose({ pose, centre }: MountView): Rotation {
  return compose(rotationAbout(unit(apply(pose, centre)), -70 * DEGREE), pose);
}

describe('one frame after a knob was turned', () => {
  test.each([[-11, 0], [0, 25], [-14, 22], [3, -2], [-120, 90]])('shows the axis raised by %d′ and moved east by %d′', (raise, east) => {
    const { recheck, goal } = adjust(raise, east, 0, 7);
    expect(Math.abs(recheck.fromTruePole.altitude / ARCMINUTE - goal.altitude) * 60).toBeLessThan(1.5);
    expect(Math.abs(recheck.fromTruePole.azimuth / ARCMINUTE - goal.azimuth) * 60).toBeLessThan(1.5);
    expect(recheck.moved.altitude / ARCMINUTE).toBeCloseTo(raise, 1);
    expect(recheck.moved.azimuth / ARCMINUTE).toBeCloseTo(east, 1);
    expect(recheck.slewed).toBe(false);
    expect(recheck.sigma.separation / ARCSECOND).toBeLessThan(1.5);
  });

  test('does so with the drive on, off, or on for half the time', () => {
    // Frames 20 minutes apart: the drive turns by 5.01° to the west, left-handed about the axis in the north.
    for (const turn of [0, -5.01, -2.5]) {
      const { recheck, goal } = adjust(-11, 20, turn, 3, 20);
      expect(Math.abs(recheck.fromTruePole.altitude / ARCMINUTE - goal.altitude) * 60).toBeLessThan(1.5);
      expect(Math.abs(recheck.fromTruePole.azimuth / ARCMINUTE - goal.azimuth) * 60).toBeLessThan(2);
      expect(recheck.turn / DEGREE).toBeCloseTo(turn, 1);
      expect(recheck.slewed).toBe(false);
    }
  });

  test('tells a slew by the turn about the axis', () => {
    expect(adjust(0, 5, 3, 1).recheck.slewed).toBe(true);
    expect(adjust(0, 5, -3, 1).recheck.slewed).toBe(true);
  });

  test('is refused near the zenith, where azimuth and the turn about the axis are one', () => {
    const site = makeSite({ latitudeDeg: 83, longitudeDeg: 10 });
    const { frames } = seeNight({ site, altitudeErrorArcmin: 5, azimuthErrorArcmin: 5, turnsDeg: [0, 40, 80] });
    const view = measureAxis(frames, 'true').view;
    expect(() => recheckAxis(view, frames[2]!.identification, frames[2]!.sky, 'true')).toThrow(PolewardError);
  });

  test('of the unchanged mount says nothing moved, within its sigma', () => {
    let inside = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const { frames } = seeNight({ altitudeErrorArcmin: 9, azimuthErrorArcmin: 4, turnsDeg: [0, 30, 60, 60], sigmaPixels: 0.1, stars: 250, seed, site: SITE });
      const view = measureAxis(frames.slice(0, 3), 'refracted').view;
      const r = recheckAxis(view, frames[3]!.identification, frames[3]!.sky, 'refracted');
      if (Math.abs(r.moved.altitude) < r.sigma.altitude) inside++;
    }
    expect(inside).toBeGreaterThan(22);
  });
});
