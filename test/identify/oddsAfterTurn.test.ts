import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { compose, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, fromSpherical } from '../../src/geometry/vector.js';
import { ACCEPTED_ODDS } from '../../src/identify/chanceOdds.js';
import { oddsAfterTurn } from '../../src/identify/oddsAfterTurn.js';
import { makeRandom } from '../../src/simulate/random.js';

const FULL = Math.log(ACCEPTED_ODDS);
const angle = fc.double({ min: -180, max: 180, noNaN: true });
const somePose = fc.tuple(angle, angle, angle).map(([a, b, c]) =>
  compose(rotationAbout([0, 0, 1], a * DEGREE), compose(rotationAbout([0, 1, 0], b * DEGREE), rotationAbout([0, 0, 1], c * DEGREE))));

describe('the odds asked after a turn', () => {
  it('are less where a mount within some degrees of the pole was turned, whatever the turn', () => {
    fc.assert(fc.property(somePose, angle, fc.double({ min: 0, max: 5, noNaN: true }), angle, fc.constantFrom(1, -1),
      (before, turn, off, toward, end) => {
        const axis = fromSpherical(toward * DEGREE, end * (90 - off) * DEGREE);
        fc.pre(Math.abs(turn) > 1);
        expect(oddsAfterTurn(compose(rotationAbout(axis, turn * DEGREE), before), before)).toBeLessThan(FULL - 5);
      }));
  });

  it('are less by as much as such poses are rare, so that chance is accepted no more often', () => {
    const random = makeRandom('turns');
    const anyDirection = (): Vector => fromSpherical(2 * Math.PI * random.uniform(), Math.asin(2 * random.uniform() - 1));
    const count = 40_000;
    let eased = 0, asked = FULL;
    for (let i = 0; i < count; i++) {
      // The axes of turns at random are spread evenly.
      const needed = oddsAfterTurn(rotationAbout(anyDirection(), Math.PI * random.uniform()), [1, 0, 0, 0, 1, 0, 0, 0, 1]);
      if (needed === FULL) continue;
      eased++;
      asked = needed;
    }
    // 219 expected, give or take 15.
    expect((eased / count) * Math.exp(FULL - asked)).toBeCloseTo(1, 0);
  });
});
