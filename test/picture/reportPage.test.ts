import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chartHeight, chartRange, convergenceChart } from '../../src/picture/convergenceChart.js';
import type { FrameMarks } from '../../src/picture/frameMarks.js';
import { DARK_INKS } from '../../src/picture/inks.js';
import { type ReportContent, reportPage } from '../../src/picture/reportPage.js';
import { htmlErrors, wellFormed, withClass } from './markupTools.js';

const marks = (words: string): FrameMarks => ({
  schema: 'poleward/marks-1', file: words, width: 100, height: 80, firstRowBottom: true, utc: '2026-11-25T20:00:00.000Z', aim: 'refracted',
  separationArcmin: 3, sigmaArcmin: 0.01, scaleArcsecPerPixel: 5, identified: 1, stars: [[3, 4, 7]], rotationCentre: { at: [10, 20] },
  pole: { edge: [99.5, 30], heading: [1, 0], beyondArcmin: 90 }, path: [{ knob: 'azimuth', points: [[10, 20], [50, 25]] }],
  star: { name: words, seen: true, now: { at: [5, 5] }, goal: { at: [50, 40] }, legs: [] }, bar: { pixels: 20, says: '1′' }, north: [0, 1],
  east: [1, 0], up: null,
  dials: [{ name: words, act: 'turn', steps: [0.3], turns: 0.3, trial: null, words }],
});
const content = (words: string): ReportContent => ({
  title: words, standing: [words], chart: [{ separationArcmin: 3, sigmaArcmin: 0.01, says: words, how: 'rotation' }],
  figures: { head: [words], rows: [[words]] },
  looks: [{ story: words, warnings: [words], picture: { marks: marks(words), backdrop: null, note: words } }],
  sections: [{ title: words, text: words, lines: [words], table: { head: [words], rows: [[words]] } }], foot: [words], night: false,
});
/** Names and attributes of all elements: what a page is made of beside its texts. */
const skeleton = (html: string): string => Array.from(wellFormed(html, 'application/xhtml+xml').getElementsByTagName('*'))
  .map((e) => `${e.tagName} ${Array.from(e.attributes).map((a) => a.name).join(' ')}`).join('\n');

describe('the report page', () => {
  it('is made of the same elements whatever people have written or called their files', () => {
    const plain = skeleton(reportPage(content('x')));
    const rude = fc.oneof(fc.string({ unit: 'binary', minLength: 1, maxLength: 30 }), fc.constantFrom(
      '<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', '</style><script>', '\' onload=\'x', '&lt;b&gt;', ']]>', '<!--',
      '--></title>', '\u0000\u001b[2J'));
    fc.assert(fc.property(rude, (words) => {
      const html = reportPage(content(words));
      expect(skeleton(html)).toBe(plain);
      expect(htmlErrors(html)).toEqual([]);
      expect(html.toLowerCase()).not.toMatch(/<script|<img|onerror=alert\(1\)>/);
    }), { numRuns: 60 });
  });
  it('is black on white on paper, with frames as negatives', () => {
    const style = /<style>([\s\S]*)<\/style>/.exec(reportPage(content('x')))![1]!;
    const print = style.slice(style.indexOf('@media print'));
    expect(print).toMatch(/--ground: #fff; --text: #000/);
    expect(print).toMatch(/\.sky \{ filter: grayscale\(1\) invert\(1\)/);
  });
  it('is red alone at night', () => {
    const html = reportPage({ ...content('x'), night: true });
    expect(html).toContain('<html lang="en" class="red">');
    const red = /:root\.red \{([^}]*)\}/.exec(html)![1]!;
    for (const [, r, g, b] of red.matchAll(/#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})/g)) {
      expect(Math.max(parseInt(g!, 16), parseInt(b!, 16))).toBeLessThanOrEqual(0.36 * parseInt(r!, 16));
    }
  });
});

describe('the convergence chart', () => {
  const look = fc.record({
    separationArcmin: fc.double({ min: 1e-4, max: 3000, noNaN: true }), sigmaArcmin: fc.double({ min: 1e-4, max: 60, noNaN: true }),
    says: fc.constant('20:00'), how: fc.constantFrom('rotation' as const, 'recheck' as const),
  });
  it('holds every point and its error within its edges, farther off standing higher', () => {
    fc.assert(fc.property(fc.array(look, { minLength: 1, maxLength: 30 }), (points) => {
      const range = chartRange(points);
      const heights = points.map((p) => chartHeight(p.separationArcmin, range));
      expect(Math.min(...heights)).toBeGreaterThanOrEqual(16);
      expect(Math.max(...heights)).toBeLessThanOrEqual(330 - 44);
      for (let i = 1; i < points.length; i++) {
        if (points[i]!.separationArcmin > points[i - 1]!.separationArcmin) expect(heights[i]!).toBeLessThanOrEqual(heights[i - 1]!);
      }
      expect(withClass(wellFormed(convergenceChart(points, DARK_INKS)), 'look')).toHaveLength(points.length);
    }), { numRuns: 60 });
  });
  it('gives each decade the same height', () => {
    const range = { least: 0.01, most: 100 };
    expect(chartHeight(0.1, range) - chartHeight(1, range)).toBeCloseTo(chartHeight(1, range) - chartHeight(10, range), 9);
  });
});
