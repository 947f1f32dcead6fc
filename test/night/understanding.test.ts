import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axisBasis } from '../../src/axis/axisBasis.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, fromRotationVector, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, add, angleBetween, cross, scale, unit } from '../../src/geometry/vector.js';
import { type Between, EXPLANATIONS, likelihoods, priorOf } from '../../src/night/explanations.js';
import { logDensity, logSum, mahalanobis } from '../../src/night/gaussian.js';
import { SET_DOWN, afterDeclination, afterKnob, afterSame, axisCovariance, batchState, innovation } from '../../src/night/mountState.js';
import type { PoseLook } from '../../src/night/poseLook.js';
import { understandPoses } from '../../src/night/understanding.js';
import { accountsFrom, weighLook } from '../../src/night/weigh.js';
import { generator } from '../axis/sightings.js';

const POLE: Vector = [0, Math.cos(47 * DEGREE), Math.sin(47 * DEGREE)];
const SETTING = { hemisphere: 1 as const, pole: POLE, levelKnown: true };
const POINTING = 0.3 * ARCSECOND, ROLL = 10 * ARCSECOND;

interface Drawn { readonly axis: Vector; readonly looks: readonly PoseLook[] }

/** Poses of a camera on an axis, turned by so many degrees, each with its errors. */
function draw(seed: number, turnsDeg: readonly number[], slip: (k: number) => Rotation | null = () => null): Drawn {
  const { normal } = generator(seed);
  const [up, side] = axisBasis(POLE);
  const axis = unit(add(POLE, add(scale(up, 12 * ARCMINUTE), scale(side, -20 * ARCMINUTE))));
  const forward = unit(add(axis, scale(up, 0.01)));
  const right = unit(cross(forward, [0.3, 0.1, 1]));
  const down = cross(forward, right);
  let body: Rotation = [right[0], down[0], forward[0], right[1], down[1], forward[1], right[2], down[2], forward[2]];
  let before = 0;
  const looks = turnsDeg.map((turn, k): PoseLook => {
    body = compose(rotationAbout(axis, (turn - before) * DEGREE), body);
    before = turn;
    const moved = slip(k);
    if (moved) body = compose(moved, body);
    const pose = compose(body, fromRotationVector([normal() * POINTING, normal() * POINTING, normal() * ROLL]));
    return { time: Date.UTC(2026, 10, 25, 20) + k * 60_000, pose, spread: [POINTING ** 2, 0, 0, 0, POINTING ** 2, 0, 0, 0, ROLL ** 2] };
  });
  return { axis, looks };
}
const seeds = fc.integer({ min: 1, max: 1e6 });

describe('normal distributions in two dimensions', () => {
  test('integrate to one, and have their peak where the covariance says', () => {
    const m = [2, 0.5, 0.5, 1] as const;
    let sum = 0;
    for (let x = -12; x <= 12; x += 0.1) for (let y = -12; y <= 12; y += 0.1) sum += Math.exp(logDensity(x, y, m)) * 0.01;
    expect(sum).toBeCloseTo(1, 4);
    expect(logDensity(0, 0, m)).toBeCloseTo(-Math.log(2 * Math.PI * Math.sqrt(1.75)), 12);
    expect(mahalanobis(1, 2, m)).toBeCloseTo(-2 * (logDensity(1, 2, m) - logDensity(0, 0, m)), 12);
  });

  test('sums of logarithms hold where the numbers would not', () => {
    expect(logSum([-1000, -1000])).toBeCloseTo(-1000 + Math.LN2, 10);
    expect(logSum([])).toBe(-Infinity);
    fc.assert(fc.property(fc.array(fc.double({ min: -20, max: 20, noNaN: true }), { minLength: 1 }), (values) => {
      expect(logSum(values)).toBeCloseTo(Math.log(values.reduce((s, v) => s + Math.exp(v), 0)), 8);
    }));
  });
});

describe('the state of the mount', () => {
  test('by all looks together is that of one look after the other, within rounding', () => {
    fc.assert(fc.property(seeds, (seed) => {
      const { looks } = draw(seed, [0, 35, 70, 20, -15, 50]);
      const rough = { near: POLE, sigma: SET_DOWN };
      const together = batchState(looks, rough).state;
      const oneByOne = looks.slice(3).reduce(afterSame, batchState(looks.slice(0, 3), rough).state);
      expect(angleBetween(oneByOne.axis, together.axis) / ARCSECOND).toBeLessThan(2e-3);
      expect(angleBetween(oneByOne.centre, together.centre) / ARCSECOND).toBeLessThan(2e-3);
      axisCovariance(together).forEach(
        (v, i) => { expect(Math.abs(axisCovariance(oneByOne)[i]! - v)).toBeLessThan(0.01 * axisCovariance(together)[0]); },
      );
    }), { numRuns: 30 });
  });

  test('does not depend on the order of the looks', () => {
    fc.assert(fc.property(seeds, fc.shuffledSubarray([0, 1, 2, 3, 4], { minLength: 5 }), (seed, order) => {
      const { looks } = draw(seed, [0, 35, 70, 20, -15]);
      const rough = { near: POLE, sigma: SET_DOWN };
      const [a, b] = [batchState(looks, rough), batchState(order.map((i) => looks[i]!), rough)];
      expect(angleBetween(a.state.axis, b.state.axis) / ARCSECOND).toBeLessThan(1e-4);
      expect(b.logEvidence).toBeCloseTo(a.logEvidence, 4);
    }), { numRuns: 30 });
  });

  test('is off by what it says: χ² of two degrees of freedom', () => {
    let within = 0, sum = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const { looks, axis } = draw(seed, [0, 40, 80]);
      const { state } = batchState(looks, { near: POLE, sigma: SET_DOWN });
      const [a, b] = state.axisAlong;
      const at = (v: Vector): number =>
        v[0] * (axis[0] - state.axis[0]) + v[1] * (axis[1] - state.axis[1]) + v[2] * (axis[2] - state.axis[2]);
      const chi = mahalanobis(at(a), at(b), axisCovariance(state));
      sum += chi;
      if (chi < 2.2957) within++;
    }
    // One sigma of two dimensions holds 68.3 %; of 200 that is 137 ± 6.6. The mean is 2 ± 0.14.
    expect(within).toBeGreaterThan(110);
    expect(within).toBeLessThan(165);
    // The floor of 0.15″ that lenses are granted is no error here, so the mean is rather below.
    expect(sum / 200).toBeGreaterThan(1.2);
    expect(sum / 200).toBeLessThan(2.6);
  });

  test('after a knob has the axis where the frame shows it and the camera as it was; after the declination the other way round', () => {
    fc.assert(fc.property(seeds, fc.double({ min: -3, max: 3, noNaN: true }), (seed, degrees) => {
      const { looks } = draw(seed, [0, 35, 70, 70], (k) => (k === 3 ? rotationAbout([1, 0, 0], degrees * DEGREE) : null));
      const before = batchState(looks.slice(0, 3), { near: POLE, sigma: SET_DOWN }).state;
      const knob = afterKnob(before, looks[3]!);
      expect(knob.centre).toEqual(before.centre);
      expect(angleBetween(knob.axis, apply(looks[3]!.pose, before.centre))).toBeLessThan(1e-9);
      const bump = afterDeclination(before, looks[3]!);
      expect(bump.axis).toEqual(before.axis);
      expect(angleBetween(bump.centre, apply(inverse(looks[3]!.pose), before.axis))).toBeLessThan(1e-9);
      // In both the frame fits its state: nothing is left.
      for (const state of [knob, bump]) expect(Math.hypot(...innovation(state, looks[3]!).gap)).toBeLessThan(1e-9);
      // And what is known anew is known no better than what it is known from.
      expect(axisCovariance(knob)[0] + axisCovariance(knob)[3]).toBeGreaterThan(0.9 * POINTING ** 2);
    }), { numRuns: 30 });
  });
});

describe('explanations', () => {
  const between = (change: Partial<Between> = {}): Between => ({
    slewed: false, advised: null, said: undefined, gap: false, levelKnown: true, ...change,
  });
  const noise = [POINTING ** 2, 0, 0, POINTING ** 2] as const;
  const advised = { right: 20 * ARCMINUTE, up: -11 * ARCMINUTE };

  test('prior odds are odds: they sum up to one, and every explanation is possible', () => {
    for (const slewed of [false, true]) {
      for (const said of [undefined, { did: 'turned-only' as const, knobs: [] }, { did: 'knobs' as const, knobs: ['azimuth' as const] }]) {
        for (const move of [null, advised]) {
          const prior = priorOf(between({ slewed, said, advised: move }));
          expect(EXPLANATIONS.reduce((sum, what) => sum + prior[what], 0)).toBeCloseTo(1, 9);
          for (const what of EXPLANATIONS) expect(prior[what]).toBeGreaterThan(0);
        }
      }
    }
  });

  test('densities of a knob\'s moves and of a declination\'s integrate to one', () => {
    for (const given of [
      between(), between({ advised }), between({ levelKnown: false }), between({ advised, said: { did: 'knobs', knobs: ['altitude'] } }),
    ]) {
      // In polar steps of the logarithm of the size, from far below the noise to far beyond the largest move.
      let knob = 0, declination = 0;
      const step = 0.08, angles = 360;
      for (let log = Math.log(1e-8); log < Math.log(10); log += step) {
        const size = Math.exp(log);
        for (let k = 0; k < angles; k++) {
          const phi = (2 * Math.PI * (k + 0.5)) / angles;
          const at = likelihoods({ right: size * Math.cos(phi), up: size * Math.sin(phi) }, [1e-10, 0, 0, 1e-10], given);
          const area = size * size * step * ((2 * Math.PI) / angles);
          knob += Math.exp(at.knob) * area;
          declination += Math.exp(at.declination) * area;
        }
      }
      expect(declination).toBeCloseTo(1, 2);
      // The weights of the named knobs are round numbers; they need to be right to a third.
      expect(knob).toBeGreaterThan(0.65);
      expect(knob).toBeLessThan(1.5);
    }
  });

  test('no move is nothing, a move along one knob is a knob, one astray is more likely a declination than it was', () => {
    const at = (right: number, up: number, change: Partial<Between> = {}): ReturnType<typeof likelihoods> =>
      likelihoods({ right: right * ARCMINUTE, up: up * ARCMINUTE }, noise, between({ advised, ...change }));
    const odds = (l: ReturnType<typeof likelihoods>): number => l.knob - l.declination;
    expect(at(0, 0).same).toBeGreaterThan(Math.max(at(0, 0).knob, at(0, 0).declination) + 5);
    expect(at(20, 0).knob).toBeGreaterThan(at(20, 0).same + 100);
    expect(odds(at(20, 0))).toBeGreaterThan(2);
    expect(odds(at(0, -11))).toBeGreaterThan(2);
    expect(odds(at(7, 9))).toBeLessThan(odds(at(20, 0)) - 2);
    // The person's statement decides.
    expect(odds(at(20, 0, { said: { did: 'knobs', knobs: ['azimuth'] } }))).toBeGreaterThan(odds(at(
      20, 0, { said: { did: 'knobs', knobs: ['altitude'] } },
    )));
    // Without up and down no direction identifies a knob.
    expect(odds(at(7, 9, { levelKnown: false }))).toBeCloseTo(odds(at(Math.hypot(7, 9), 0, { levelKnown: false })), 6);
  });
});

describe('understanding', () => {
  test('weights of all accounts sum up to one, the likeliest first, after any looks', () => {
    fc.assert(fc.property(seeds, fc.array(
      fc.tuple(fc.double({ min: -60, max: 60, noNaN: true }), fc.integer({ min: 0, max: 3 })), { minLength: 1, maxLength: 6 },
    ), (seed, deeds) => {
      const slips = [
        null, rotationAbout([1, 0, 0], 9 * ARCMINUTE), rotationAbout([0, 0, 1], -14 * ARCMINUTE),
        rotationAbout([0.3, 0.8, 0.1], 5 * ARCMINUTE),
      ];
      const { looks } = draw(seed, [0, ...deeds.map(([turn]) => turn)], (k) => (k === 0 ? null : slips[deeds[k - 1]![1]]!));
      let accounts = accountsFrom(looks[0]!, SETTING, null);
      for (let i = 1; i < looks.length; i++) accounts = weighLook(accounts, looks.slice(0, i + 1), SETTING);
      expect(logSum(accounts.map((a) => a.logWeight))).toBeCloseTo(0, 6);
      expect(accounts.map((a) => a.logWeight)).toEqual(accounts.map((a) => a.logWeight).sort((a, b) => b - a));
      for (const account of accounts) {
        expect(account.happened.length).toBe(looks.length);
        expect(account.restarts.at(-1)).toBe(account.since);
      }
    }), { numRuns: 25 });
  });

  test('the same looks give the same understanding, and later ones change no answer that was given', () => {
    fc.assert(fc.property(seeds, (seed) => {
      const { looks } = draw(
        seed, [0, 35, 70, 70, 20, 20],
        (k) => (k === 3 ? rotationAbout([0, 0, 1], 15 * ARCMINUTE) : k === 5 ? rotationAbout([1, 0, 0], 4 * ARCMINUTE) : null),
      );
      const all = understandPoses(looks, SETTING);
      expect(understandPoses(looks, SETTING)).toEqual(all);
      looks.forEach((_, i) => { expect(understandPoses(looks.slice(0, i + 1), SETTING).answers).toEqual(all.answers.slice(0, i + 1)); });
    }), { numRuns: 10 });
  });

  test('needs a turn of some degrees: before it there is no answer', () => {
    const answers = (...turns: number[]): boolean[] => understandPoses(draw(5, turns).looks, SETTING).answers.map((a) => a.axis !== null);
    expect(answers(0, 0.001, 0.002)).toEqual([false, false, false]);
    expect(answers(0, 30, 60)).toEqual([false, true, true]);
  });

  test('two turned looks are unconfirmed, a third that fits confirms them, one that does not is told', () => {
    const fits = understandPoses(draw(5, [0, 30, 60]).looks, SETTING).answers;
    expect(fits.map((a) => a.unconfirmed)).toEqual([false, true, false]);
    const slips = understandPoses(
      draw(5, [0, 30, 60], (k) => (k === 2 ? rotationAbout([0.2, 0.5, 0.7], 3 * ARCMINUTE) : null)).looks, SETTING,
    ).answers;
    const last = slips[2]!;
    expect(last.axis === null || last.unconfirmed || last.doubt !== null).toBe(true);
    expect(last.happened).not.toBe('same');
  });
});
