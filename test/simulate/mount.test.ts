import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCMINUTE, DEGREE, wrapSigned } from '../../src/geometry/angle.js';
import { apply, axisAndAngle, compose, inverse } from '../../src/geometry/rotation.js';
import { angleBetween, dot } from '../../src/geometry/vector.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { axisDirection, axisPlace, cameraPose, elevatedPole } from '../../src/simulate/mount.js';
import { SIDEREAL_RATE } from '../../src/sky/siderealRate.js';
import { type NightPlan, ordinaryNight } from '../../src/simulate/nightPlan.js';

const start = new Date('2027-02-03T21:00:00Z');

const plans = fc.record({
  latitudeDeg: fc.oneof(fc.double({ min: 10, max: 80, noNaN: true }), fc.double({ min: -80, max: -10, noNaN: true })),
  altitudeErrorArcmin: fc.double({ min: -120, max: 120, noNaN: true }),
  azimuthErrorArcmin: fc.double({ min: -120, max: 120, noNaN: true }),
  rollDeg: fc.double({ min: -180, max: 180, noNaN: true }),
  pointingOffsetDeg: fc.double({ min: 0, max: 8, noNaN: true }),
  pointingDirectionDeg: fc.double({ min: 0, max: 360, noNaN: true }),
  rotation: fc.double({ min: -170, max: 170, noNaN: true }).filter((turn) => Math.abs(turn) > 0.01),
  tracking: fc.boolean(),
}).map(({ latitudeDeg, rotation, ...rest }): NightPlan => ({
  ...ordinaryNight(makeSite({ latitudeDeg, longitudeDeg: 12 }), start),
  ...rest,
  rotationsDeg: [0, rotation],
}));

describe('the mount', () => {
  it('stands, without errors, with its axis at the true pole', () => {
    for (const latitudeDeg of [52, -33, 0.5]) {
      const site = makeSite({ latitudeDeg, longitudeDeg: 0 });
      const pole = makeLocalSky(start, site).truePole(elevatedPole(site.latitude));
      expect(angleBetween(axisDirection(axisPlace(ordinaryNight(site, start), 0)), pole)).toBeLessThan(1e-12);
    }
  });

  it('has its axis east of the meridian with a positive azimuth error, in either hemisphere', () => {
    for (const latitudeDeg of [52, -33]) {
      const site = makeSite({ latitudeDeg, longitudeDeg: 0 });
      const [east, , up] = axisDirection(axisPlace({ ...ordinaryNight(site, start), azimuthErrorArcmin: 30, altitudeErrorArcmin: 60 }, 0));
      expect(east).toBeGreaterThan(0);
      expect(up).toBeCloseTo(Math.sin((Math.abs(latitudeDeg) + 1) * DEGREE), 12);
    }
    // Too far east in the south is an azimuth below 180°.
    const south = makeSite({ latitudeDeg: -33, longitudeDeg: 0 });
    expect(axisPlace({ ...ordinaryNight(south, start), azimuthErrorArcmin: 18 }, 0).azimuth / DEGREE).toBeCloseTo(179.7, 12);
  });

  it('turns its camera about the axis: the axis stays put in the camera and the angle is slew plus tracking', () => {
    fc.assert(fc.property(plans, fc.double({ min: 0, max: 3600, noNaN: true }), (plan, seconds) => {
      const axis = axisDirection(axisPlace(plan, 0));
      const first = cameraPose(plan, 0, 0);
      const second = cameraPose(plan, 1, seconds);
      expect(angleBetween(apply(inverse(first), axis), apply(inverse(second), axis))).toBeLessThan(1e-12);
      const turn = axisAndAngle(compose(second, inverse(first)));
      const wanted = wrapSigned(plan.rotationsDeg[1]! * DEGREE + (plan.tracking ? SIDEREAL_RATE * seconds : 0));
      expect(turn.angle).toBeCloseTo(Math.abs(wanted), 9);
      // Stars go round the north pole left-handed.
      const westward = -elevatedPole(plan.site.latitude) * Math.sign(dot(turn.axis, axis)) * turn.angle;
      expect(wrapSigned(westward - wanted)).toBeCloseTo(0, 9);
    }));
  });

  it('keeps up with the stars when it tracks on a perfect axis without air', () => {
    const catalogued: [number, number, number] = [Math.cos(1.5), 0, Math.sin(1.5)];
    for (const latitudeDeg of [48, -48]) {
      const site = makeSite({ latitudeDeg, longitudeDeg: 100, pressureHectopascal: 0, temperatureCelsius: 10 });
      const plan = ordinaryNight(site, start);
      const direction: [number, number, number] = latitudeDeg > 0 ? catalogued : [catalogued[0], 0, -catalogued[2]];
      const at = (seconds: number): readonly [number, number, number] => {
        const sky = makeLocalSky(new Date(start.getTime() + seconds * 1000), site, { x: 0, y: 0 });
        return apply(inverse(cameraPose(plan, 0, seconds)), sky.toLocal(direction));
      };
      // 4° from the pole an hour moves a star by 1°. The aberration by Earth's rotation, 0.2″ here, keeps pointing east while
      // the camera turns by 15°: that leaves 0.06″.
      expect(angleBetween(at(0), at(3600))).toBeLessThan(4e-7);
    }
  });

  it('moves by what its knobs are turned, from the frame on that the plan names', () => {
    const plan: NightPlan = {
      ...ordinaryNight(makeSite({ latitudeDeg: -36, longitudeDeg: 0 }), start),
      altitudeErrorArcmin: 20, azimuthErrorArcmin: -7, rotationsDeg: [0, 30, 30, 30],
      shifts: [{ beforeFrame: 2, altitudeArcmin: -20 }, { beforeFrame: 3, azimuthArcmin: 7 }],
    };
    const pole = makeLocalSky(start, plan.site).truePole(-1);
    const off = [0, 1, 2, 3].map((frame) => angleBetween(axisDirection(axisPlace(plan, frame)), pole) / ARCMINUTE);
    expect(off[0]).toBe(off[1]);
    // Azimuth counts on the sky times the cosine of the altitude.
    expect(off[2]).toBeCloseTo(7 * Math.cos(36 * DEGREE), 3);
    expect(off[3]).toBeCloseTo(0, 9);
    // The camera goes along with the head.
    const turn = axisAndAngle(compose(cameraPose(plan, 3, 0), inverse(cameraPose(plan, 2, 0))));
    expect(turn.angle / ARCMINUTE).toBeCloseTo(7, 9);
    expect(Math.abs(turn.axis[2])).toBeCloseTo(1, 9);
  });

  it('leaves the axis alone when the declination clutch slips, and moves the camera by the slip', () => {
    const plan: NightPlan = {
      ...ordinaryNight(makeSite({ latitudeDeg: 36, longitudeDeg: 0 }), start), rotationsDeg: [0, 0],
      shifts: [{ beforeFrame: 1, declinationArcmin: 5 }],
    };
    expect(axisPlace(plan, 1)).toEqual(axisPlace(plan, 0));
    const turn = axisAndAngle(compose(cameraPose(plan, 1, 0), inverse(cameraPose(plan, 0, 0))));
    expect(turn.angle / ARCMINUTE).toBeCloseTo(5, 9);
    expect(dot(turn.axis, axisDirection(axisPlace(plan, 0)))).toBeCloseTo(0, 9);
  });
});
