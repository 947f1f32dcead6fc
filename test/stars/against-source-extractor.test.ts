/**
 * Against source-extractor (Bertin & Arnouts 1996, A&AS 117, 393) on the frames of testdata/skies.
 * Its threshold counts sigmas of the unfiltered picture in five connected pixels of the filtered one: at the same nominal 3 or 5
 * it sees less deep than five sigmas of a matched filter, at its default of 1.5 about as deep. All three are compared with
 * our 5. Its tables: testdata/stars/make.py.
 */
import { describe, expect, test } from 'vitest';
import { compareWithTruth, outsideTable, ratios, shareFound } from './againstOutside.js';
import type { Row } from './againstOutside.js';

const table = outsideTable('source-extractor');
const at = (threshold: string): Record<string, readonly Row[]> =>
  Object.fromEntries(Object.entries(table.frames).map(([frame, rows]) => [frame, rows[threshold]!]));

describe('what source-extractor finds', () => {
  test.each([['5', 2000, 0.99], ['3', 3500, 0.99], ['1.5', 6000, 0.97]])(
    'at its threshold of %s: of over %i unsaturated, unblended stars at least the share %d', (threshold, number, share) => {
      let theirs = 0;
      let found = 0;
      for (const [frame, rows] of Object.entries(at(threshold))) {
        const here = shareFound(frame, rows);
        theirs += here.theirs;
        found += here.found;
        expect(here.found / here.theirs, frame).toBeGreaterThan(0.97);
      }
      expect(theirs).toBeGreaterThan(number);
      expect(found / theirs).toBeGreaterThan(share);
    },
  );
});

describe('places against the truth, and XWIN, YWIN against the truth', () => {
  test.each(compareWithTruth(at('1.5')))('signal to noise $from to $to: ours are as near or nearer', (kind) => {
    const { median, rms, stars } = ratios(kind);
    expect(stars).toBeGreaterThan(60);
    expect(median).toBeLessThan(1);
    expect(rms).toBeLessThan(1.01);
  });
});
