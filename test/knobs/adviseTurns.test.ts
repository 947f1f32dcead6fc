import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { adviseTurns, type KnobAdvice } from '../../src/knobs/adviseTurns.js';
import type { LearnedKnob } from '../../src/knobs/learnedKnobs.js';
import type { FacingRig } from '../../src/knobs/rigFacing.js';
import { adviceWords, turnWords } from '../../src/knobs/turnWords.js';

const SIGMA = { azimuth: 0.01 * ARCMINUTE, altitude: 0.01 * ARCMINUTE };
const errors = (azimuth: number, altitude: number): Parameters<typeof adviseTurns>[0] =>
  ({ azimuth: azimuth * ARCMINUTE, altitude: altitude * ARCMINUTE, sigma: SIGMA });
/** Invented. */
const RIG: FacingRig = {
  knobs: { azimuth: { arcminPerTurn: 48, clockwise: 'east' }, altitude: { arcminPerTurn: 30, clockwise: 'raise' } },
};
const learnedKnob = (travelArcmin: number, more: Partial<LearnedKnob> = {}): LearnedKnob => ({
  travel: travelArcmin * ARCMINUTE, sigma: 2 * ARCMINUTE, count: 6, setAside: 0, backlash: null, last: null,
  slack: { clockwise: 0, counterClockwise: 0 }, againstRig: false, ...more,
});
const words = (advice: KnobAdvice, rig: FacingRig | null = RIG, hemisphere: 1 | -1 = 1): string => {
  const { order, how, why } = adviceWords(advice, rig, hemisphere);
  return [order, how, why].join('\n');
};

describe('advice', () => {
  it('names azimuth first, altitude last, as in the JSON', () => {
    const [azimuth, altitude] = adviseTurns(errors(-20, -12), RIG, null);
    expect(azimuth).toMatchObject({ knob: 'azimuth', move: 'east', arcmin: 20, turns: 0.4167, direction: 'clockwise', act: 'turn' });
    expect(altitude).toMatchObject({ knob: 'altitude', move: 'raise', arcmin: 12, turns: 0.4, direction: 'clockwise', steps: [0.4] });
  });
  it('has null turns and a trial turn without a rig', () => {
    const advice = adviseTurns(errors(20, -12), null, null);
    expect(advice.map((a) => [a.move, a.turns, a.direction, a.act])).toEqual([['west', null, null, 'try'], ['raise', null, null, 'try']]);
    expect(advice.every((a) => a.trial !== null && a.trial !== 0 && a.steps.length === 0)).toBe(true);
    expect(words(advice[0]!, null)).toMatch(/Try half a turn clockwise, look again, and say what you turned\./);
    expect(adviceWords(advice[0]!, null, 1).remedies).toEqual([{ key: 'say-turned', knob: 'azimuth', turns: 0.5 }]);
  });
  it('tries the right way round where the rig says only the direction', () => {
    const [azimuth] = adviseTurns(errors(20, 0), { knobs: { azimuth: { clockwise: 'east' } } }, null);
    expect(azimuth).toMatchObject({ turns: null, direction: 'counter-clockwise', trial: -0.5 });
  });
  it('says how far and asks which way where the rig says only the travel', () => {
    const [azimuth] = adviseTurns(errors(24, 0), { knobs: { azimuth: { arcminPerTurn: 48 } } }, null);
    expect(azimuth).toMatchObject({ turns: 0.5, direction: null, signedTurns: null, act: 'find-direction' });
  });
  it('lowers past the goal and comes back up, so that altitude always ends raising', () => {
    fc.assert(fc.property(fc.double({ min: -60, max: 60, noNaN: true }), fc.constantFrom<'raise' | 'lower'>(
      'raise', 'lower',
    ), (altitude, clockwise) => {
      const rig: FacingRig = { knobs: { altitude: { arcminPerTurn: 30, clockwise } } };
      const [, advice] = adviseTurns(errors(0, altitude), rig, null);
      const raising = clockwise === 'raise' ? 1 : -1;
      if (advice!.steps.length > 0) expect(Math.sign(advice!.steps.at(-1)!)).toBe(raising);
      const net = advice!.steps.reduce((a, b) => a + b, 0);
      if (advice!.steps.length > 0) expect(net * 30 * raising).toBeCloseTo(-altitude, 1);
    }), { numRuns: 200 });
  });
  it('keeps azimuth ending the way it was last turned', () => {
    const learned = { azimuth: learnedKnob(48, { last: 1 }), altitude: null, cross: null };
    expect(adviseTurns(errors(24, 0), RIG, learned)[0]!.steps).toEqual([-0.75, 0.25]);
    expect(adviseTurns(errors(-24, 0), RIG, learned)[0]!.steps).toEqual([0.5]);
  });
  it('takes up a known play that lies before the turn, and goes well past it', () => {
    const backlash = { turns: 0.3, sigma: 0.05 };
    const behind = learnedKnob(30, { last: -1, backlash, slack: { clockwise: 0.3, counterClockwise: 0 } });
    expect(adviseTurns(errors(0, -15), RIG, { azimuth: null, altitude: behind, cross: null })[1]!.steps).toEqual([0.8]);
    const ready = learnedKnob(30, { last: 1, backlash, slack: { clockwise: 0, counterClockwise: 0.3 } });
    expect(adviseTurns(errors(0, 15), RIG, { azimuth: null, altitude: ready, cross: null })[1]!.steps).toEqual([-1, 0.5]);
  });
  it('taps under a twentieth of a turn and leaves what the knob cannot do or the measurement cannot tell', () => {
    const act = (altitude: number, rig: FacingRig = RIG): string => adviseTurns(errors(0, altitude), rig, null)[1]!.act;
    expect([act(-1.51), act(-1.4), act(-0.31), act(-0.29), act(-0.015)]).toEqual(['turn', 'tap', 'tap', 'below', 'leave']);
    expect(act(-1.4, { knobs: { altitude: { ...RIG.knobs!.altitude!, smallestTurn: 0.05 } } })).toBe('below');
  });
  it('solves for both knobs where each moves both errors', () => {
    const cross = {
      azimuthByAltitude: 3 * ARCMINUTE, azimuthByAltitudeSigma: 0, altitudeByAzimuth: -2 * ARCMINUTE, altitudeByAzimuthSigma: 0,
    };
    const [azimuth, altitude] = adviseTurns(errors(-30, -40), RIG, { azimuth: learnedKnob(40), altitude: learnedKnob(25), cross });
    const u = azimuth!.signedTurns!, v = altitude!.signedTurns!;
    expect(40 * u + 3 * v).toBeCloseTo(30, 2);
    expect(-2 * u + 25 * v).toBeCloseTo(40, 2);
  });
});

describe('words', () => {
  it('are fractions a hand can do', () => {
    expect([0.31, 2.5, 0.5, 0.25, 1, 0.46, 0.13, 1.08, 3.97, 0.04].map(turnWords)).toEqual([
      'a quarter turn and a bit (0.31)', 'two and a half turns', 'half a turn', 'a quarter turn', 'one turn',
      'just under half a turn (0.46)',
      'an eighth of a turn (0.13)', 'one turn and a bit (1.08)', 'just under four turns (3.97)', '0.04 of a turn']);
  });
  it('always name a number near the true one', () => {
    const value: Record<string, number> = { an: 0.125, a: 0.25, half: 0.5, three: 0.75 };
    fc.assert(fc.property(fc.double({ min: 0.1, max: 0.99, noNaN: true }), (turns) => {
      const said = turnWords(turns);
      const decimal = /\((\d\.\d\d)\)/.exec(said);
      const named = /one turn/.test(said) ? 1 : value[said.replace('just under ', '').split(' ')[0]!]!;
      expect(Math.abs((decimal ? Number(decimal[1]) : named) - turns)).toBeLessThan(0.0051);
      expect(Math.abs(named - turns)).toBeLessThan(0.13);
    }), { numRuns: 300 });
  });
  it('turn first, then what the axis does, by hemisphere', () => {
    const [azimuth] = adviseTurns(errors(14.88, 0), RIG, null);
    expect(words(azimuth!)).toMatch(
      /^azimuth: a quarter turn and a bit \(0\.31\) counter-clockwise, axis 14\.9′ west, left as you face the pole/,
    );
    expect(words(azimuth!, RIG, -1)).toMatch(/west, right as you face the pole/);
  });
  it('say where the travel is from', () => {
    expect(words(adviseTurns(errors(20, 0), RIG, { azimuth: learnedKnob(38), altitude: null, cross: null })[0]!)).toMatch(
      /from your last six turns: 38 ± 2′ a turn/,
    );
    expect(words(adviseTurns(errors(20, 0), RIG, null)[0]!)).toMatch(/from the rig file: 48\.0′ a turn/);
    const weak = learnedKnob(45, { sigma: 17 * ARCMINUTE, count: 1 });
    expect(words(adviseTurns(errors(20, 0), RIG, { azimuth: weak, altitude: null, cross: null })[0]!)).toMatch(
      /from the rig file and your last turn: 45 ± 17′ a turn/,
    );
    const against = learnedKnob(-38, { againstRig: true });
    expect(words(adviseTurns(errors(20, 0), RIG, { azimuth: against, altitude: null, cross: null })[0]!)).toMatch(
      / clockwise, axis[^]*rig file has its direction the wrong way round/,
    );
  });
  it('loosen one and tighten the other of a push-pull pair', () => {
    const rig: FacingRig = { knobs: { azimuth: { arcminPerTurn: 48, clockwise: 'east', pushPull: true, screw: 'left' } } };
    expect(words(adviseTurns(errors(-24, 0), rig, null)[0]!, rig)).toMatch(
      /loosen the right screw half a turn, then tighten the left one as much/,
    );
    expect(words(adviseTurns(errors(24, 0), rig, null)[0]!, rig)).toMatch(
      /loosen the left screw half a turn, then tighten the right one as much/,
    );
  });
  it('tell where a knob ends that goes past its goal and back', () => {
    expect(words(adviseTurns(errors(0, 6), RIG, null)[1]!)).toMatch(
      /just under half a turn \(0\.45\) counter-clockwise, then a quarter turn back clockwise.*\n.*stands 0\.20 of a turn counter-clockwise of where it stands now/,
    );
  });
  it('say tap where a turn is too small to turn', () => {
    expect(words(adviseTurns(errors(0, -0.9), RIG, null)[1]!)).toMatch(/tap clockwise, 0\.03 of a turn/);
  });
});
