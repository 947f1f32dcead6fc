import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { handError } from '../../src/knobs/handError.js';
import type { Adjustment } from '../../src/knobs/learnedKnobs.js';
import { learnKnobs } from '../../src/knobs/learnKnobs.js';
import { playTurns } from '../../src/knobs/playedTurns.js';
import type { FacingRig } from '../../src/knobs/rigFacing.js';
import { makeRandom } from '../../src/simulate/random.js';
import { nightNumber, playNight } from './hiddenMount.js';

/** Invented. */
const RIG: FacingRig = {
  knobs: { azimuth: { arcminPerTurn: 30, clockwise: 'east' }, altitude: { arcminPerTurn: 30, clockwise: 'raise' } },
};
const SIGMA = { azimuth: 0.07 * ARCMINUTE, altitude: 0.07 * ARCMINUTE };

interface Truth { azimuth: number; altitude: number; play: number; azimuthShare: number; altitudeShare: number }

/** What turns do to a mount of that truth (arcminutes a turn, shares of the other error's change), in one session. */
function turned(
  truth: Truth, series: readonly (readonly [azimuth: number, altitude: number])[], seed: number, session = 'tonight',
): Adjustment[] {
  const random = makeRandom(`turned ${seed}`);
  let ahead = { azimuth: truth.play * random.uniform(), altitude: truth.play * random.uniform() };
  return series.map(([azimuthTurns, altitudeTurns]) => {
    const made = (turns: number): number => (turns === 0 ? 0 : turns + handError(turns) * random.normal());
    const az = playTurns([made(azimuthTurns)], truth.play, ahead.azimuth);
    const alt = playTurns([made(altitudeTurns)], truth.play, ahead.altitude);
    ahead = { azimuth: az.ahead!, altitude: alt.ahead! };
    const own = { azimuth: truth.azimuth * az.turns, altitude: truth.altitude * alt.turns };
    return {
      session, sigma: SIGMA,
      turns: [{ knob: 'azimuth', turns: azimuthTurns }, { knob: 'altitude', turns: altitudeTurns }],
      change: {
        azimuth: (own.azimuth + truth.azimuthShare * own.altitude) * ARCMINUTE + SIGMA.azimuth * random.normal(),
        altitude: (own.altitude + truth.altitudeShare * own.azimuth) * ARCMINUTE + SIGMA.altitude * random.normal(),
      },
    };
  });
}
const LEVEL: Truth = { azimuth: 42, altitude: 18, play: 0, azimuthShare: 0, altitudeShare: 0 };
const TURNS: [number, number][] = [[1, 1.5], [0.5, 1], [0.7, -1], [-1, 0.6], [0.4, -0.8], [-0.9, 1]];

describe('learned knobs', () => {
  it('know nothing without turns', () => {
    expect(learnKnobs([], RIG, 'tonight')).toEqual({ azimuth: null, altitude: null, cross: null });
  });
  it('find the travel within their sigma, with a rig that is 40 % off and with none', () => {
    for (const rig of [RIG, null]) {
      const away = Array.from({ length: 200 }, (_, n) => {
        const { azimuth } = learnKnobs(turned(LEVEL, TURNS, n), rig, 'tonight');
        return (azimuth!.travel / ARCMINUTE - 42) / (azimuth!.sigma / ARCMINUTE);
      });
      const within = (k: number): number => away.filter((a) => Math.abs(a) < k).length / away.length;
      // 68 and 95 % of a normal distribution, give or take three times the scatter of 200 draws.
      expect(within(1)).toBeGreaterThan(0.58);
      expect(within(2)).toBeGreaterThan(0.9);
    }
  });
  it('believe in play where there is some, rarely where there is none', () => {
    const found = (play: number): number => Array.from({ length: 200 }, (_, n) =>
      learnKnobs(turned({ ...LEVEL, play }, TURNS, n), RIG, 'tonight').azimuth!.backlash).filter((b) => b !== null).length / 200;
    expect(found(0)).toBeLessThan(0.03);
    expect(found(0.25)).toBeGreaterThan(0.9);
  });
  it('measure the play with a sigma that holds', () => {
    const away = Array.from(
      { length: 200 }, (_, n) => learnKnobs(turned({ ...LEVEL, play: 0.25 }, TURNS, n), RIG, 'tonight').azimuth!.backlash,
    )
      .flatMap((b) => (b ? [(b.turns - 0.25) / b.sigma] : []));
    expect(away.filter((a) => Math.abs(a) < 2).length / away.length).toBeGreaterThan(0.88);
  });
  it('believe in a base that leans where it does, rarely where it does not', () => {
    const found = (share: number): number => Array.from({ length: 200 }, (_, n) =>
      learnKnobs(turned({ ...LEVEL, azimuthShare: share, altitudeShare: -share }, TURNS, n), RIG, 'tonight').cross).filter(
        (c) => c !== null,
      ).length / 200;
    expect(found(0)).toBeLessThan(0.03);
    expect(found(0.05)).toBeGreaterThan(0.9);
  });
  it('measure the lean to its sigma', () => {
    const truth = { ...LEVEL, azimuthShare: 0.05, altitudeShare: -0.05 };
    const away = Array.from({ length: 200 }, (_, n) => learnKnobs(turned(truth, TURNS, n), RIG, 'tonight').cross)
      .flatMap((c) => (c ? [(c.azimuthByAltitude / ARCMINUTE - 0.05 * 18) / (c.azimuthByAltitudeSigma / ARCMINUTE)] : []));
    expect(away.filter((a) => Math.abs(a) < 2).length / away.length).toBeGreaterThan(0.88);
  });
  it('take the travel from earlier sessions, but not their lean', () => {
    const truth = { ...LEVEL, azimuthShare: 0.05, altitudeShare: -0.05 };
    const learned = learnKnobs(turned(truth, TURNS, 1, 'last week'), RIG, 'tonight');
    expect(learned.cross).toBeNull();
    expect(learned.azimuth).toMatchObject({ count: 6, last: null, slack: { clockwise: 0, counterClockwise: 0 } });
    expect(Math.abs(learned.azimuth!.travel / ARCMINUTE - 42)).toBeLessThan(3 * learned.azimuth!.sigma / ARCMINUTE);
  });
  it('overrule a rig file that names the wrong direction, and say so', () => {
    const learned = learnKnobs(turned({ ...LEVEL, azimuth: -33 }, TURNS.slice(0, 2), 3), RIG, 'tonight');
    expect(learned.azimuth!.travel).toBeLessThan(0);
    expect(learned.azimuth!.againstRig).toBe(true);
    expect(learned.altitude!.againstRig).toBe(false);
  });
  it('leave out one miscounted turn among many', () => {
    const data = turned(LEVEL, TURNS, 5);
    const miscounted = data.map(
      (a, i) => (i === 2 ? { ...a, turns: a.turns.map((t) => (t.knob === 'azimuth' ? { ...t, turns: t.turns + 1 } : t)) } : a),
    );
    const { azimuth } = learnKnobs(miscounted, RIG, 'tonight');
    expect(azimuth!.setAside).toBe(1);
    expect(Math.abs(azimuth!.travel / ARCMINUTE - 42)).toBeLessThan(2);
  });
  it('do not make a travel vanish or turn round from a nudge', () => {
    const nudge: Adjustment = {
      session: 'tonight', sigma: SIGMA, turns: [{ knob: 'azimuth', turns: 0.03 }, { knob: 'altitude', turns: 1 }],
      change: { azimuth: -1 * ARCMINUTE, altitude: 30 * ARCMINUTE },
    };
    const { azimuth } = learnKnobs([nudge], RIG, 'tonight');
    expect(azimuth!.travel / ARCMINUTE).toBeGreaterThan(20);
    expect(azimuth!.travel / ARCMINUTE).toBeLessThan(45);
  });
  it('remember which way the knob was last turned tonight', () => {
    const learned = learnKnobs(turned(LEVEL, TURNS, 7), RIG, 'tonight');
    expect([learned.azimuth!.last, learned.altitude!.last]).toEqual([-1, 1]);
  });
});

describe('nights with hidden knobs', () => {
  // Travel off by 40 %, 0.15 turn of play, base tilted 3°, errors to ±60′. The hand (0.03 of a turn, 0.01 for a nudge) is
  // invented.
  const hand = { floor: 0.01, share: 0.04, most: 0.03, marks: true, measureArcsec: 3 };
  const within3 = (learn: boolean): number =>
    Array.from({ length: 500 }, (_, n) => playNight(nightNumber(n), hand, learn, 3, n)).filter((s) => (s.at(-1) ?? 0) < 1).length / 500;
  it('reach one arcminute in at most three rounds in 95 % of 500 nights with learning', () => {
    expect(within3(true)).toBeGreaterThanOrEqual(0.95);
  });
  it('and in less than a quarter of them without', () => {
    expect(within3(false)).toBeLessThan(0.25);
  });
});
