import { describe, expect, test } from 'vitest';
import { answerView, nothingYetTrouble, type PanelAnswer, TAKEN_SHORT, unusableFrame } from '../../src/panel/panelWords.js';
import { ARCMINUTE, ARCSECOND } from '../../src/geometry/angle.js';
import { adviseTurns } from '../../src/knobs/adviseTurns.js';
import type { FacingRig } from '../../src/knobs/rigFacing.js';
import type { Doubt } from '../../src/night/doubts.js';
import type { NextStep } from '../../src/night/said.js';

const RIG: FacingRig = {
  knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { arcminPerTurn: 40, clockwise: 'raise' } },
};

const TURN: NextStep = { action: 'turn-knob', words: 'Turn azimuth, save a frame.' };

/** An answer with these errors, arcminutes; sigma, arcseconds. */
function answer(
  azimuth: number, altitude: number, change: Partial<PanelAnswer> = {}, sigma = 0.2, rig: FacingRig | null = RIG,
): PanelAnswer {
  const errors = {
    azimuth: azimuth * ARCMINUTE, altitude: altitude * ARCMINUTE,
    sigma: { azimuth: sigma * ARCSECOND, altitude: sigma * ARCSECOND, separation: sigma * ARCSECOND },
  };
  return {
    ...errors, separation: Math.hypot(azimuth, altitude) * ARCMINUTE, aim: 'refracted', hemisphere: 1, rig, warnings: [], doubts: [],
    next: TURN,
    advice: adviseTurns(errors, rig, null), ...change,
  };
}
const knobs = (a: PanelAnswer): Record<string, string>[] => answerView(a, 1).knobs.map(({ off, way, arrow }) => ({ off, way, arrow }));

describe('numbers of a panel', () => {
  test('have at most three digits, and no more than their error deserves', () => {
    const off = (azimuth: number, sigma = 0.2): string => answerView(answer(azimuth, 0, {}, sigma), 1).knobs[0]!.off;
    expect([0.4, 4.321, 24.31, 99.96, 243.2].map((e) => off(e))).toEqual(['0.40′', '4.32′', '24.3′', '100′', '4.05°']);
    // One sigma of 1′ allows no decimal, of 6″ one.
    expect([off(24.31, 60), off(4.321, 6)]).toEqual(['24′', '4.3′']);
  });

  test('know the hand at which east is, facing either pole', () => {
    expect(knobs(answer(24, 3))).toEqual([{ off: '24.0′', way: 'west, left', arrow: '←' }, { off: '3.00′', way: 'lower', arrow: '↓' }]);
    expect(knobs(answer(-24, -3))).toEqual([{ off: '24.0′', way: 'east, right', arrow: '→' }, { off: '3.00′', way: 'raise', arrow: '↑' }]);
    expect(knobs(answer(24, 3, { hemisphere: -1 }))[0]).toMatchObject({ way: 'west, right', arrow: '→' });
    expect(knobs(answer(-24, 3, { hemisphere: -1 }))[0]).toMatchObject({ way: 'east, left', arrow: '←' });
  });

  test('say whether the limit is held', () => {
    expect(answerView(answer(0.5, 0.5), 1).off).toMatchObject({ within: true, limitArcmin: 1 });
    expect(answerView(answer(0.5, 0.5), 0.7).off).toMatchObject({ within: false });
  });
});

describe('what to do next', () => {
  const next = (a: PanelAnswer): string => answerView(a, 1).next;

  test('is one knob at a time, azimuth first', () => {
    expect(next(answer(30, -20))).toBe('Azimuth: half a turn counter-clockwise, then save a frame.');
    expect(next(answer(0.001, -20))).toBe('Altitude: half a turn clockwise, then save a frame.');
    expect(next(answer(0, 20))).toBe('Altitude: three quarters of a turn counter-clockwise, back a quarter turn clockwise, then save '
      + 'a frame.');
    expect(next(answer(0, -1))).toMatch(/^Altitude: tap 0\.03 of a turn clockwise/);
  });

  test('without a rig file is a turn to try', () => {
    expect(next(answer(30, -20, {}, 0.2, null))).toBe('Azimuth: try half a turn clockwise, then save a frame.');
  });

  test('is not a knob where something else comes first: the words are those of every front', () => {
    const lock: NextStep = { action: 'lock', words: 'Lock the bolts, save one more frame.' };
    expect(next(answer(0.001, 0.001, { next: lock }))).toBe(lock.words);
    // Within the limit the panel says what the terminal says, though a knob could still be turned.
    expect(next(answer(0.3, 0.2, { next: lock }))).toBe(lock.words);
    const settle: NextStep = { action: 'settle', words: 'Turn the mount 20° or more in right ascension.' };
    expect(next(answer(30, -20, { next: settle }))).toBe(settle.words);
    expect(knobs(answer(0.001, 0.001)).map((k) => k['way'])).toEqual(['leave it', 'leave it']);
  });

  test('without a site is to give it, and no dial claims to know', () => {
    const view = answerView(answer(1, 1, { advice: [] }), 1);
    expect(view.knobs).toEqual([]);
    expect(view.next).toMatch(/Give the watch latitude and longitude/);
    expect(view.off).not.toBeNull();
    const lock: NextStep = { action: 'lock', words: 'Lock the bolts, save one more frame.' };
    expect(next(answer(0.1, 0.1, { advice: [], next: lock }))).toBe(lock.words);
  });
});

describe('trouble', () => {
  const troubleOf = (change: Partial<PanelAnswer>): { headline: string; detail: string } | null =>
    answerView(answer(1, 1, change), 1).trouble;
  const warned = (code: 'not-one-rotation' | 'clock-suspect' | 'few-stars'): string | undefined =>
    troubleOf({ warnings: [{ code, message: '/home/someone/frame.fits' }] })?.headline;
  const doubt: Doubt = { code: 'knob-or-declination', message: 'A knob was turned, or the declination moved.', settle: 'Turn 20°.' };

  test('is told in a few words, small doubts are not', () => {
    expect([warned('not-one-rotation'), warned('clock-suspect'), warned('few-stars')]).toEqual(['Slipped', 'Clock wrong?', undefined]);
    expect(unusableFrame('no-stars').headline).toBe('Clouds? No stars');
    expect(unusableFrame('not-identified').headline).toBe('Clouds? Stars not known');
    expect(troubleOf({})).toBeNull();
  });

  test('is a doubt before any warning, with what it is', () => {
    expect(troubleOf({ doubts: [doubt], warnings: [{ code: 'clock-suspect', message: '' }] })).toEqual({
      headline: 'In doubt', detail: doubt.message,
    });
  });

  test('of a frame without an answer is that nothing holds any longer, and no other', () => {
    expect(nothingYetTrouble('anew')).toMatchObject({
      headline: 'Axis and camera moved', detail: expect.stringContaining('no longer holds') as string,
    });
    for (const what of ['first', 'turned', 'unchanged', 'knob', 'declination'] as const) expect(nothingYetTrouble(what)).toBeNull();
    expect(new Set(Object.values(TAKEN_SHORT)).size).toBe(6);
  });

  test('tells no path, whatever the watch\'s own message says', () => {
    const view = answerView(answer(1, 1, { warnings: [{ code: 'not-one-rotation', message: '/home/someone/frame.fits' }] }), 1);
    expect(view.trouble).not.toBeNull();
    expect(JSON.stringify(view)).not.toMatch(/home|someone/);
  });
});
