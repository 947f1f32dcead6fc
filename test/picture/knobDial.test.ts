import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ARCMINUTE } from '../../src/geometry/angle.js';
import { adviseTurns } from '../../src/knobs/adviseTurns.js';
import { type DialTurn, DIAL_SIDE, dialTurn, knobDial } from '../../src/picture/knobDial.js';
import { wellFormed, withClass } from './markupTools.js';

const INK = { turn: '#f00', line: '#aaa', faint: '#555' };
const dial = (change: Partial<DialTurn>): DialTurn =>
  ({ name: 'azimuth', act: 'turn', steps: [0.3], turns: 0.3, trial: null, words: 'words', ...change });
const draw = (change: Partial<DialTurn>): ReturnType<typeof wellFormed> => wellFormed(knobDial(dial(change), INK));
const texts = (change: Partial<DialTurn>): string[] => Array.from(draw(change).getElementsByTagName('text')).map((t) => t.textContent!);
const points = (d: string): [number, number][] =>
  [...d.matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map((m) => [Number(m[1]) - DIAL_SIDE / 2, Number(m[2]) - DIAL_SIDE / 2]);
/** Turns clockwise from the top. */
const angleOf = ([x, y]: [number, number]): number => Math.atan2(x, -y) / (2 * Math.PI);

/** All turns that a band makes, its head included, clockwise positive: the sum of the small angles between its points. */
function swept(document: ReturnType<typeof wellFormed>): number {
  const stem = points(withClass(document, 'turn')[0]?.getAttribute('d') ?? '');
  const tip = points(withClass(document, 'head')[0]!.getAttribute('d')!)[0]!;
  const all = [...(stem.length > 0 ? stem : [[0, -1] as [number, number]]), tip];
  let sum = 0;
  for (let i = 1; i < all.length; i++) {
    const step = angleOf(all[i]!) - angleOf(all[i - 1]!);
    sum += step - Math.round(step);
  }
  return sum;
}

describe('a knob\'s dial', () => {
  it('sweeps exactly the turn to make, the way to make it, from the top', () => {
    fc.assert(fc.property(fc.double({ min: 0.01, max: 2.99, noNaN: true }), fc.constantFrom(1, -1), (size, way) => {
      const document = draw({ steps: [way * size] });
      expect(swept(document)).toBeCloseTo(way * size, 2);
    }));
  });
  it('shows more than three whole turns as a ring with their number, and the rest as a band', () => {
    const document = draw({ steps: [7.4] });
    expect(withClass(document, 'whole')).toHaveLength(1);
    expect(swept(document)).toBeCloseTo(0.4, 2);
    expect(texts({ steps: [7.4] })).toContain('7.40');
    expect(withClass(draw({ steps: [2.4] }), 'whole')).toHaveLength(0);
  });
  it('draws the way past the goal and the way back', () => {
    const document = draw({ steps: [-0.89, 0.25] });
    expect(withClass(document, 'head')).toHaveLength(2);
    expect(swept(document)).toBeCloseTo(-0.89, 2);
    expect(texts({ steps: [-0.89, 0.25] })).toEqual(['0.89', 'counter-clockwise', 'then 0.25 back']);
  });
  it('says what to try, or that the way is unknown, in dashes', () => {
    expect(texts({ act: 'try', steps: [], turns: null, trial: -0.5 })).toEqual(['try 0.50', 'turn', 'counter-clockwise']);
    expect(texts({ act: 'find-direction', steps: [], turns: 0.3, trial: 0.3 })).toEqual(['0.30', 'turn', 'way unknown']);
    expect(withClass(draw({ act: 'find-direction', steps: [], turns: 0.3, trial: 0.3 }), 'turn').every(
      (b) => b.hasAttribute('stroke-dasharray'),
    )).toBe(true);
  });
  it('has nothing to turn where the knob is right', () => {
    const document = draw({ act: 'leave', steps: [] });
    expect(withClass(document, 'turn').length + withClass(document, 'head').length).toBe(0);
    expect(texts({ act: 'leave', steps: [] })).toEqual(['leave it']);
  });
  it('is a picture with a name for those who hear the page, whatever the words hold', () => {
    const words = 'altitude ("<script>" & bolt): half a turn';
    const root = draw({ words }).documentElement!;
    expect(root.getAttribute('role')).toBe('img');
    expect(root.getAttribute('aria-label')).toBe(words);
  });
  it('of an advice carries its sentences and turns', () => {
    const sigma = { azimuth: 0.01 * ARCMINUTE, altitude: 0.01 * ARCMINUTE };
    const rig = { knobs: { azimuth: { arcminPerTurn: 48, clockwise: 'east' as const } } };
    const [azimuth] = adviseTurns({ azimuth: -24 * ARCMINUTE, altitude: 0, sigma }, rig, null);
    expect(dialTurn(azimuth!, rig, 1)).toMatchObject({
      name: 'azimuth', act: 'turn', steps: [0.5], words: 'azimuth: half a turn clockwise, axis 24.0′ east, right as you face the pole.',
    });
  });
});
