import { describe, expect, test } from 'vitest';
import { doubtsAt } from '../../src/night/doubts.js';
import { type Night, nightOf } from '../../src/night/night.js';
import { type Done, inventLooks } from './inventedLooks.js';
import { SITE } from '../axis/sightings.js';

const START = { seed: 5, sigmaPixels: 0.05, stars: 60, altitude: 12, azimuth: -20 };

/** The night of some looks, with and without lost lines after the look of a number. */
function nights(deeds: readonly Done[], after: number): { readonly whole: Night; readonly gap: Night } {
  const looks = inventLooks(START, deeds).map(({ look }) => look);
  const setting = { site: SITE, hemisphere: 1 as const, anchor: null };
  return { whole: nightOf(setting, looks), gap: nightOf({ ...setting, lostAfter: [looks[after]!.utc] }, looks) };
}

const TURNED: readonly Done[] = [{}, { west: 40 }, { west: 40 }];

describe('a look after lines of the record that could not be read', () => {
  test('is answered in doubt where something moved: anything may have happened there', () => {
    const { whole, gap } = nights([...TURNED, { raise: -12 }], 2);
    expect(whole.answers.at(-1)!.happened).toBe('knob');
    const doubts = doubtsAt(gap, 'refracted');
    expect(doubts.length).toBe(1);
    expect(gap.answers.at(-1)!.doubt!.probability).toBeGreaterThan(whole.answers.at(-1)!.doubt?.probability ?? 0);
    expect(gap.answers.at(-1)!.doubt!.probability).toBeGreaterThan(0.2);
  });

  test('is answered without doubt where it shows that nothing moved', () => {
    const { whole, gap } = nights([...TURNED, { west: 30 }], 2);
    expect(whole.answers.at(-1)!.happened).toBe('same');
    expect(gap.answers.at(-1)!.happened).toBe('same');
    expect(doubtsAt(gap, 'refracted')).toEqual([]);
  });

  test('of looks before the gap nothing changes', () => {
    const { whole, gap } = nights([...TURNED, { raise: -12 }], 2);
    expect(gap.answers.slice(0, 3)).toEqual(whole.answers.slice(0, 3));
  });
});
