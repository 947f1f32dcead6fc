import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { adjustmentsOf, type MountEvent } from '../../src/knobs/adjustmentsOf.js';
import { adviseTurns } from '../../src/knobs/adviseTurns.js';
import { followedTurns, parseTurned } from '../../src/knobs/parseTurned.js';

describe('--turned', () => {
  it('takes decimals and fractions with their sign, in order', () => {
    expect(parseTurned(['azimuth=+0,5', 'altitude=-1/4', ' Azimuth = .25 ', 'altitude=−2'])).toEqual([
      { knob: 'azimuth', turns: 0.5 }, { knob: 'altitude', turns: -0.25 }, { knob: 'azimuth', turns: 0.25 },
      { knob: 'altitude', turns: -2 },
    ]);
  });
  it('refuses what says no turn, with an example of what does', () => {
    for (const text of [
      '', 'azimuth', 'azimuth=', 'azimuth=half', 'knob=1', 'azimuth=1e3', 'azimuth=1/0', 'azimuth=500', 'azimuth=0.5;altitude=1',
      'azimuth=+-1',
    ]) {
      expect(() => parseTurned([text]), text).toThrow(/like azimuth=\+0\.5/);
    }
  });
});

describe('--followed', () => {
  it('takes the advice step by step, a trial turn included', () => {
    const advice = adviseTurns({ azimuth: 24 * ARCMINUTE, altitude: 15 * ARCMINUTE, sigma: { azimuth: 0, altitude: 0 } },
      { knobs: { azimuth: { clockwise: 'west' }, altitude: { arcminPerTurn: 30, clockwise: 'raise' } } }, null);
    expect(followedTurns(advice)).toEqual([
      { knob: 'azimuth', turns: 0.5 }, { knob: 'altitude', turns: -0.75 }, { knob: 'altitude', turns: 0.25 },
    ]);
  });
});

describe('adjustments', () => {
  const look = (azimuth: number, altitude: number): MountEvent => ({ kind: 'look', azimuth, altitude, sigma: { azimuth: 3, altitude: 4 } });
  const turn = (turns: number): MountEvent => ({ kind: 'turn', knob: 'azimuth', turns });
  it('are the turns between two looks with the change they made', () => {
    expect(adjustmentsOf([turn(9), look(0, 0), look(1, 1), turn(1), turn(-0.5), look(11, 2), turn(7)], 'a')).toEqual([{
      turns: [{ knob: 'azimuth', turns: 1 }, { knob: 'azimuth', turns: -0.5 }], session: 'a',
      change: { azimuth: 10, altitude: 1 }, sigma: { azimuth: Math.hypot(3, 3), altitude: Math.hypot(4, 4) },
    }]);
  });
});
