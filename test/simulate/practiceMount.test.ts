import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { practiceMount, withFrame, withKnobTurned, withTurn } from '../../src/simulate/practiceMount.js';

const seeds = fc.string({ minLength: 1, maxLength: 12 });
const knobs = fc.constantFrom('azimuth' as const, 'altitude' as const);
const turns = fc.double({ min: -3, max: 3, noNaN: true });

describe('a virtual mount', () => {
  test('is the same for the same seed, and off the pole in both coordinates', () => {
    fc.assert(fc.property(seeds, (seed) => {
      const mount = practiceMount(seed);
      expect(practiceMount(seed)).toEqual(mount);
      expect(Math.min(Math.abs(mount.altitudeArcmin), Math.abs(mount.azimuthArcmin))).toBeGreaterThan(5);
    }), { numRuns: 50 });
  });

  test('loses its play on reversing, and nothing but that: there and back by play more is where it was', () => {
    fc.assert(fc.property(seeds, knobs, (seed, knob) => {
      // Engaged clockwise.
      const begun = withKnobTurned(practiceMount(seed), knob, 1);
      const { play } = begun.knobs[knob];
      const back = withKnobTurned(withKnobTurned(begun, knob, 0.7), knob, -(0.7 + play));
      expect(back.azimuthArcmin).toBeCloseTo(begun.azimuthArcmin, 9);
      expect(back.altitudeArcmin).toBeCloseTo(begun.altitudeArcmin, 9);
      const within = withKnobTurned(begun, knob, -play / 2);
      expect([within.azimuthArcmin, within.altitudeArcmin]).toEqual([begun.azimuthArcmin, begun.altitudeArcmin]);
    }), { numRuns: 50 });
  });

  test('moves along its tilted line by its travel, however the turns are divided', () => {
    fc.assert(fc.property(seeds, knobs, turns, turns, (seed, knob, first, second) => {
      const mount = practiceMount(seed);
      const { travel, tilt } = mount.knobs[knob];
      const moved = withKnobTurned(withKnobTurned(mount, knob, Math.abs(first)), knob, Math.abs(second));
      const once = withKnobTurned(mount, knob, Math.abs(first) + Math.abs(second));
      expect(moved.azimuthArcmin).toBeCloseTo(once.azimuthArcmin, 9);
      const [own, other] = [moved.azimuthArcmin - mount.azimuthArcmin, moved.altitudeArcmin - mount.altitudeArcmin];
      const [along, across] = knob === 'azimuth' ? [own, other] : [other, own];
      expect(across).toBeCloseTo(tilt * along, 9);
      expect(Math.abs(along)).toBeLessThanOrEqual(Math.abs(travel) * (Math.abs(first) + Math.abs(second)) + 1e-9);
    }), { numRuns: 50 });
  });

  test('keeps its axis when it is turned about it, or a frame is saved', () => {
    fc.assert(fc.property(seeds, turns, (seed, degrees) => {
      const mount = practiceMount(seed);
      const { turnedDeg, frames, ...rest } = withFrame(withTurn(mount, degrees));
      // −0 is 0.
      expect([turnedDeg, frames]).toEqual([degrees + 0, 1]);
      expect(mount).toMatchObject(rest);
    }), { numRuns: 20 });
  });
});
