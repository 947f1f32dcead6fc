/**
 * Against sep (Barbary 2016, JOSS 1, 58; the routines of Bertin & Arnouts 1996 as a library) on the frames of testdata/skies.
 * Thresholds mean the same on both sides: five sigmas of the matched-filtered picture. sep's table: testdata/stars/make.py.
 */
import { describe, expect, test } from 'vitest';
import { compareWithTruth, outsideTable, ratios, shareFound } from './againstOutside.js';
import type { Row } from './againstOutside.js';

const table = outsideTable('sep');
const at5: Record<string, readonly Row[]> = {};
for (const [frame, rows] of Object.entries(table.frames)) at5[frame] = rows['5']!;

describe('what sep finds', () => {
  test('at least 97 % of its unsaturated, unblended stars are found at the same threshold', () => {
    let theirs = 0;
    let found = 0;
    for (const [frame, rows] of Object.entries(at5)) {
      const share = shareFound(frame, rows);
      theirs += share.theirs;
      found += share.found;
      expect(share.found / share.theirs, frame).toBeGreaterThan(0.95);
    }
    expect(theirs).toBeGreaterThan(3000);
    expect(found / theirs).toBeGreaterThan(0.97);
  });
});

describe('places against the truth, and sep\'s windowed places against the truth', () => {
  test.each(compareWithTruth(at5))('signal to noise $from to $to: ours are as near or nearer', (kind) => {
    const { median, rms, stars } = ratios(kind);
    expect(stars).toBeGreaterThan(60);
    expect(median).toBeLessThan(1);
    expect(rms).toBeLessThan(1.01);
  });
});
