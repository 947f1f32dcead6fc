import { describe, expect, test } from 'vitest';
import type { TimedFrame } from '../../src/axis/frameTime.js';
import { frameContradictions } from '../../src/axis/frameContradictions.js';

const TODAY = new Date('2026-11-26T00:00:00Z');
const frames = (starts: readonly string[], exposureSeconds: number): TimedFrame[] => starts.map((start, i) => ({
  file: `${i + 1}.fits`, time: new Date(Date.parse(start) + exposureSeconds * 500), sunAltitude: null, exposureSeconds,
}));
const said = (starts: readonly string[], exposure: number): string[] =>
  frameContradictions(frames(starts, exposure), TODAY).map((w) => w.message);

describe('frames that contradict each other', () => {
  test('an exposure in milliseconds is longer than the time between frames: its cost is said', () => {
    const [message, ...more] = said(['2026-11-25T20:00:00Z', '2026-11-25T20:00:40Z'], 4000);
    expect(more).toEqual([]);
    expect(message).toMatch(/2\.fits was taken 40 s after 1\.fits, yet their exposures are said to be 4000 s\. In milliseconds it would fit\./);
    expect(message).toMatch(/may be 33 min off, which turns the direction of the answer by 8\.3°/);
    expect(said(['2026-11-25T20:00:00Z', '2026-11-25T20:00:40Z'], 40)).toEqual([]);
    expect(said(['2026-11-25T20:00:00Z', '2026-11-25T20:00:39Z'], 40)).toEqual([]);
  });

  test.each([
    ['1900-11-25', /taken 1900-11-25, 126 years ago\. .*up to 42′ from/],
    ['2000-11-25', /taken 2000-11-25, 26 years ago\. .*up to 9′ from/],
    ['2199-11-25', /taken 2199-11-25, 173 years ahead of this computer's date\. .*up to 58′/],
    ['2027-11-25', /365 days ahead of this computer's date/],
  ])('a year that can hardly be: %s', (day, words) => {
    expect(said([`${day}T20:00:00Z`], 4)).toEqual([expect.stringMatching(words)]);
  });

  test('frames of the last years and of tonight say nothing, nor does anything where the date is unknown', () => {
    for (const day of ['2012-11-25', '2026-11-25', '2027-01-26']) expect(said([`${day}T20:00:00Z`], 4), day).toEqual([]);
    expect(frameContradictions(frames(['1900-11-25T20:00:00Z'], 4), null)).toEqual([]);
  });
});
