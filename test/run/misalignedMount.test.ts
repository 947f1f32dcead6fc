import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE, ARCSECOND, DEGREE, wrapSigned } from '../../src/geometry/angle.js';
import { apply } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween, dot, subtract, unit } from '../../src/geometry/vector.js';
import {
  apparentDirection, declinationAxis, directionOf, elevatedPole, guideTurn, onMount, placeOf, poleDirections,
} from '../../src/run/misalignedMount.js';
import { guidedTrail, runView, unguidedTrail } from '../../src/run/runTrail.js';
import { NO_REFRACTION } from '../../src/sky/refraction.js';
import { planOf } from './runPlans.js';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const latitudeDeg = fc.oneof(number(5, 80), number(-80, -5));
const place = fc.record({ hourAngleHours: number(-12, 12), declinationDeg: number(-85, 85) });
const error = fc.record({ up: number(-30, 30), east: number(-30, 30) });
const AIR = { hPa: 1000, C: 10, humidity: 0.5 };

describe('places on the turning sky', () => {
  test('hour angle 0 is on the meridian, six hours later due west', () => {
    const [east, north, up] = directionOf({ hourAngle: 0, declination: 0 }, 50 * DEGREE);
    expect(east).toBeCloseTo(0, 15);
    expect(Math.atan2(up, -north)).toBeCloseTo(40 * DEGREE, 14);
    expect(directionOf({ hourAngle: Math.PI / 2, declination: 0 }, 50 * DEGREE)[0]).toBeCloseTo(-1, 14);
  });

  test('direction and place are inverse', () => {
    fc.assert(fc.property(latitudeDeg, place, (latitude, { hourAngleHours, declinationDeg }) => {
      const given = { hourAngle: hourAngleHours * 15 * DEGREE, declination: declinationDeg * DEGREE };
      const back = placeOf(directionOf(given, latitude * DEGREE), latitude * DEGREE);
      expect(back.declination).toBeCloseTo(given.declination, 11);
      expect(wrapSigned(back.hourAngle - given.hourAngle)).toBeCloseTo(0, 10);
    }));
  });

  test('a mount on the true pole follows every star without air, north and south', () => {
    fc.assert(fc.property(latitudeDeg, place, number(0, 24), (latitude, { hourAngleHours, declinationDeg }, hours) => {
      const sky = { latitude: latitude * DEGREE, refraction: NO_REFRACTION };
      const star = { hourAngle: hourAngleHours * 15 * DEGREE, declination: declinationDeg * DEGREE };
      const { truePole } = poleDirections(sky);
      const at = (h: number): Vector => onMount(truePole, elevatedPole(sky.latitude), h, apparentDirection(sky, star, h));
      expect(angleBetween(at(0), at(hours))).toBeLessThan(1e-13);
    }));
  });
});

describe('guiding', () => {
  test('brings the guide star home by turns about the mount\'s two axes only', () => {
    fc.assert(fc.property(place, error, number(-1, 1), number(-1, 1), ({ hourAngleHours, declinationDeg }, { up, east }, dx, dy) => {
      const latitude = 47 * DEGREE;
      const { truePole } = poleDirections({ latitude, refraction: NO_REFRACTION });
      const axis = axisWithError(truePole, up * ARCMINUTE, east * ARCMINUTE);
      const forward = directionOf({ hourAngle: hourAngleHours * 15 * DEGREE, declination: declinationDeg * DEGREE }, latitude);
      const home = unit([forward[0] + 0.01 * dx, forward[1] + 0.01 * dy, forward[2]]);
      const seen = unit([home[0] + 3e-3 * dy, home[1] - 2e-3 * dx, home[2] + 1e-3]);
      const declination = declinationAxis(axis, forward);
      const turn = guideTurn(axis, declination, home, seen);
      expect(turn).not.toBeNull();
      expect(angleBetween(apply(turn!, home), seen)).toBeLessThan(1e-12);
      // The declination axis is carried about the axis and never tilts against it.
      expect(dot(apply(turn!, declination), axis)).toBeCloseTo(0, 12);
    }));
  });

  test('of a star on the axis asks for no turn', () => {
    const view = runView(planOf({ latitudeDeg: 47, declinationDeg: 90, hourAngleHours: 0, hours: 2, exposureSeconds: 60 }));
    const { truePole } = poleDirections({ latitude: 47 * DEGREE, refraction: NO_REFRACTION });
    expect(guidedTrail(view, truePole).cornerPixels).toBeLessThan(1e-3);
  });

  test('has no answer where the declination axis does not reach', () => {
    const axis: Vector = [0, 0, 1];
    expect(guideTurn(axis, [0, 1, 0], unit([1, 0.1, 0]), [0, 0, 1])).toBeNull();
  });
});

describe('a run about a misaligned axis', () => {
  const plan = (latitude: number, p: { hourAngleHours: number; declinationDeg: number }, air: typeof AIR | null = null) =>
    planOf({ latitudeDeg: latitude, ...p, hours: 3, exposureSeconds: 300, air });
  const beside = (latitude: number, up: number, east: number): Vector =>
    axisWithError(poleDirections({ latitude: latitude * DEGREE, refraction: NO_REFRACTION }).truePole, up * ARCMINUTE, east * ARCMINUTE);

  test('without error and air there is no drift, no rotation, no trail', () => {
    fc.assert(fc.property(latitudeDeg, place, (latitude, p) => {
      const view = runView(plan(latitude, p));
      const axis = beside(latitude, 0, 0);
      expect(unguidedTrail(view, axis).drift / ARCSECOND).toBeLessThan(1e-7);
      const guided = guidedTrail(view, axis);
      expect(guided.cornerPixels).toBeLessThan(1e-6);
      expect(Math.abs(guided.fieldRotation) / DEGREE).toBeLessThan(1e-8);
    }), { numRuns: 40 });
  });

  test('drift and rotation are linear in a small error', () => {
    fc.assert(fc.property(latitudeDeg, place.filter((p) => Math.abs(p.declinationDeg) < 75), error.filter(
      (e) => Math.hypot(e.up, e.east) > 3,
    ), (latitude, p, e) => {
      const view = runView(plan(latitude, p));
      const of = (share: number) => {
        const axis = beside(latitude, share * e.up / 30, share * e.east / 30);
        return { ...guidedTrail(view, axis), ...unguidedTrail(view, axis), corner: guidedTrail(view, axis).cornerPixels };
      };
      const one = of(1), two = of(2);
      expect(two.drift / one.drift).toBeCloseTo(2, 2);
      expect(two.corner / one.corner).toBeCloseTo(2, 2);
      // May pass through zero: against the most it could be.
      const most = 2 * ARCMINUTE / Math.cos(p.declinationDeg * DEGREE) ** 2;
      expect(Math.abs(two.fieldRotation - 2 * one.fieldRotation)).toBeLessThan(2e-3 * most);
    }), { numRuns: 40 });
  });

  test('the southern sky is the northern one in a mirror', () => {
    // The mirror plane is the horizon's east-west line upright: north becomes south, so latitude and declination change sign.
    fc.assert(fc.property(number(5, 80), place, error, fc.boolean(), (latitude, p, e, air) => {
      const above = { ...p, declinationDeg: Math.abs(p.declinationDeg) + 0.001, hourAngleHours: p.hourAngleHours / 6 };
      const north = runView(plan(latitude, above, air ? AIR : null));
      const south = runView(plan(-latitude, { ...above, declinationDeg: -above.declinationDeg }, air ? AIR : null));
      const axisN = beside(latitude, e.up, e.east), axisS = beside(-latitude, e.up, e.east);
      const n = { ...guidedTrail(north, axisN), ...unguidedTrail(north, axisN) };
      const s = { ...guidedTrail(south, axisS), ...unguidedTrail(south, axisS) };
      expect(subtract(axisS, [axisN[0], -axisN[1], axisN[2]]).every((v) => Math.abs(v) < 1e-15)).toBe(true);
      expect(s.drift).toBeCloseTo(n.drift, 11);
      expect(s.declinationPerMinute).toBeCloseTo(n.declinationPerMinute, 11);
      // Two exposures may be the worst, alike to rounding.
      if (s.atHours === n.atHours) {
        expect(s.declination).toBeCloseTo(-n.declination, 11);
        expect(s.rightAscension).toBeCloseTo(n.rightAscension, 11);
      }
      expect(s.fieldRotation).toBeCloseTo(-n.fieldRotation, 8);
      expect(s.cornerPixels).toBeCloseTo(n.cornerPixels, 6);
    }), { numRuns: 40 });
  });

  test('east and west of the meridian mirror each other without air', () => {
    fc.assert(fc.property(latitudeDeg, number(-80, 80), number(-11, 11), error, (latitude, declinationDeg, middle, e) => {
      const run = (m: number): ReturnType<typeof runView> => runView(plan(latitude, { hourAngleHours: m - 1.5, declinationDeg }));
      const a = unguidedTrail(run(middle), beside(latitude, e.up, e.east));
      const b = unguidedTrail(run(-middle), beside(latitude, e.up, -e.east));
      // 3 mean solar hours are 3.008 sidereal ones: the runs miss each other's mirror by half a minute.
      expect(Math.abs(b.drift - a.drift)).toBeLessThan(6e-3 * Math.hypot(e.up, e.east, 1) * ARCMINUTE * 0.022);
    }), { numRuns: 40 });
  });
});
