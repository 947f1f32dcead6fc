import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { appendToSession } from '../../src/node/sessionFile.js';
import { inventLooks } from '../night/inventedLooks.js';
import { lookEntry, looksStart, oldStart, rotation, turn } from '../night/record/entries.js';
import { poleward, scratchFolder } from './poleward.js';

/** An invented plan. */
const TARGET = ['--declination', '41.3', '--hour-angle', '-2.5', '--hours', '4', '--exposure', '180'];
const OPTICS = ['--focal-length', '480', '--pixel-size', '3.76', '--sensor', '6248x4176'];
const SITE = ['--latitude', '47.3'];
const ERROR = ['--altitude-error', '3.2', '--azimuth-error', '-5'];
const ALL = [...SITE, ...TARGET, ...OPTICS, ...ERROR];

interface Budget {
  readonly imageScaleArcsecPerPixel: number;
  readonly unguided: { readonly driftArcsecPerExposure: number; readonly driftPixels: number };
  readonly guided: { readonly fieldRotationDeg: number; readonly cornerTrailPixels: number };
  readonly limitPixels: number;
  readonly withinLimit: boolean;
  readonly allowedErrorArcmin: number;
  readonly [more: string]: unknown;
}
function budget(...words: string[]): Budget & { readonly status: number | null } {
  const { out, err, status } = poleward('budget', ...words, '--json');
  expect(err).toBe('');
  return { ...(JSON.parse(out) as Budget), status };
}
/** One sentence what is wrong, one what to do. */
function refused(...words: string[]): string {
  const { out, err, status } = poleward('budget', ...words);
  expect({ out, status }).toEqual({ out: '', status: 1 });
  expect(err).toMatch(/^[A-Z].*\. [A-Z].*\.\n$/);
  expect(err).not.toMatch(/undefined|NaN|at .*\.js/);
  return err;
}

describe('poleward budget', () => {
  test('gives the numbers that its JSON promises', () => {
    const b = budget(...ALL, '--no-refraction');
    expect(b.imageScaleArcsecPerPixel).toBeCloseTo((206.265 * 3.76) / 480, 4);
    // testdata/run/against-erfa.json, second case: the same run by ERFA.
    expect(b.unguided.driftArcsecPerExposure).toBeCloseTo(3.6586, 3);
    expect(b.unguided.driftPixels).toBeCloseTo(3.6586 / b.imageScaleArcsecPerPixel, 3);
    expect(b.guided.fieldRotationDeg).toBeCloseTo(0.060853, 5);
    expect(b.guided.cornerTrailPixels).toBeCloseTo((0.00123785 * Math.PI / 180) * Math.hypot(6248, 4176) / 2, 3);
    expect(b).toMatchObject({ limitPixels: 1, withinLimit: false, guiding: 'unguided', status: 3 });
  });

  test('gives exactly no drift for no error without air', () => {
    const b = budget(...SITE, ...TARGET, ...OPTICS, '--altitude-error', '0', '--azimuth-error', '0', '--no-refraction');
    expect(b.unguided).toMatchObject({ driftArcsecPerExposure: 0, driftPixels: 0 });
    expect(b.guided).toMatchObject({ fieldRotationDeg: 0, cornerTrailPixels: 0 });
    expect(b).toMatchObject({ withinLimit: true, status: 0 });
  });

  test('holds the trail of a guided run against the limit where a guide star is named', () => {
    const guided = budget(...ALL, '--guide-offset', '0.5');
    expect(guided).toMatchObject({ withinLimit: true, guiding: 'guided', status: 0 });
    expect(guided.allowedErrorArcmin).toBeGreaterThan(budget(...ALL).allowedErrorArcmin);
    const outside = budget(...ALL, '--guide-offset', '0.5', '--limit', '0.1');
    expect(outside).toMatchObject({ withinLimit: false, limitPixels: 0.1, status: 3 });
    const middle = budget(...ALL, '--guided');
    expect(middle.guided.cornerTrailPixels).toBeLessThan(guided.guided.cornerTrailPixels);
  });

  test('an error just below the allowed one is within the limit, one just above it is outside', () => {
    const { allowedErrorThisDirectionArcmin: allowed, axis } = budget(...ALL, '--no-refraction') as unknown as {
      allowedErrorThisDirectionArcmin: number; axis: { fromRefractedPole: { separationArcmin: number } };
    };
    const share = allowed / axis.fromRefractedPole.separationArcmin;
    const scaled = (factor: number): Budget & { status: number | null } => budget(...SITE, ...TARGET, ...OPTICS, '--no-refraction',
      '--altitude-error', String(3.2 * share * factor), '--azimuth-error', String(-5 * share * factor));
    expect(scaled(0.99)).toMatchObject({ withinLimit: true, status: 0 });
    expect(scaled(1.01)).toMatchObject({ withinLimit: false, status: 3 });
  });

  test('takes right ascension and start for an hour angle', () => {
    // Vega's field; local sidereal time from the longitude. The J2000 place is carried to the date.
    const b = budget(
      ...SITE, '--longitude', '8.5', '--right-ascension', '18.6156', '--declination', '38.784', '--start', '2026-08-15T21:00', '--hours',
      '2', '--exposure', '120', ...OPTICS, ...ERROR,
    );
    const { target } = b as unknown as { target: { hourAngleHours: number; declinationDeg: number } };
    // Greenwich mean sidereal time by the almanac's formula (Explanatory Supplement): 6.697374558 + 0.06570982441908·days +
    // 1.00273790935·UT.
    const days = (Date.UTC(2026, 7, 15) - Date.UTC(2000, 0, 1, 12)) / 86_400_000;
    const sidereal = (6.697374558 + 0.06570982441908 * days + 1.00273790935 * 21 + 8.5 / 15) % 24;
    // Right ascension of date is 0.9 minutes of time larger than that of J2000 (precession, 2.03 s a year for this star).
    expect(target.hourAngleHours).toBeCloseTo(sidereal - 18.6156 - (2.03 * 26.6) / 3600, 2);
    expect(target.declinationDeg).toBeCloseTo(38.807, 1);
  });

  test('goes by the session\'s last look, and warns where a knob was turned since', async () => {
    const path = join(scratchFolder(), 's.jsonl');
    const looks = inventLooks({ altitude: 4, azimuth: -30 }, [{}, { west: 35 }, { west: 35 }, { east: 25 }]);
    await appendToSession(path, looks.map(lookEntry), looksStart);
    const { out, status } = poleward('budget', '--session', path, ...TARGET, ...OPTICS);
    expect(status).toBe(3);
    // The refracted pole is 0.85′ above the true one at 47.3°.
    expect(out.replace(/\s+/g, ' ')).toMatch(/error altitude \+3\.1\d′, azimuth −(5\.0|4\.9)\d′ from the refracted pole \(session, 2026-11-25 20:06 UTC\)/);
    await appendToSession(path, [turn('azimuth', 0.1, 8, 5)], looksStart);
    expect(poleward('budget', '--session', path, ...TARGET, ...OPTICS).err).toContain('A knob was turned since');
  });

  test('goes by the last measurement of a session of version 1', async () => {
    const path = join(scratchFolder(), 's.jsonl');
    await appendToSession(path, [rotation(0, 30, -50), rotation(60, 3.2, -5)], oldStart);
    expect(poleward('budget', '--session', path, ...TARGET, ...OPTICS).out.replace(/\s+/g, ' '))
      .toContain('error altitude +3.20′, azimuth −5.00′ from the refracted pole (session, 2026-11-25 21:00 UTC)');
  });

  test('reads in the dark: 60 columns, one screen, the verdict first; all figures with --full', () => {
    for (const more of [[], ['--guide-offset', '0.5'], ['--no-refraction'], ['--limit', '50'], ['--aim', 'true'], ['--full']]) {
      const { out } = poleward('budget', ...ALL, ...more);
      expect(out).toMatch(/^(within|OUTSIDE) the limit: trail [\d.]+ px, limit [\d.]+ px\n/);
      expect(out).not.toMatch(/undefined|null|NaN|-\d/);
      for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(60);
      const all = more.includes('--full');
      if (!all) expect(out.trimEnd().split('\n').length).toBeLessThanOrEqual(24);
      // Unguided or guided, whichever the verdict is about; both with --full.
      expect(/^unguided {2}/m.test(out)).toBe(all || !more.includes('--guide-offset'));
      expect(/^guided {4}/m.test(out)).toBe(all || more.includes('--guide-offset'));
      expect(/a star 3 px wide/.test(out)).toBe(all);
    }
  });

  test('refuses what can\'t be, in two sentences', () => {
    expect(refused(
      ...SITE, '--declination', '-60', '--hour-angle', '0', '--hours', '1', '--exposure', '60', ...OPTICS, ...ERROR,
    )).toContain('below the horizon');
    expect(refused(...SITE, '--declination', '0', '--hour-angle', '4', '--hours', '6', '--exposure', '60', ...OPTICS, ...ERROR)).toMatch(
      /sets 2\.0 h after the start/,
    );
    expect(refused(
      ...SITE, '--declination', '40', '--hour-angle', '0', '--hours', '0.1', '--exposure', '600', ...OPTICS, ...ERROR,
    )).toContain('longer than the run');
    expect(refused(...SITE, ...TARGET, '--focal-length', '480', ...ERROR)).toContain('pixel size is unknown');
    expect(refused(...SITE, ...TARGET, '--pixel-size', '3.76', ...ERROR)).toContain('focal length is unknown');
    expect(refused(...TARGET, ...OPTICS, ...ERROR)).toContain('latitude is unknown');
    expect(refused(...SITE, ...TARGET, '--focal-length', '480', '--pixel-size', '3.76', ...ERROR, '--guided')).toContain('sensor');
    expect(refused(...SITE, '--declination', '40', '--hours', '1', '--exposure', '60', ...OPTICS, ...ERROR)).toContain('--hour-angle');
    expect(refused(
      ...SITE, '--declination', '40', '--right-ascension', '5', '--hours', '1', '--exposure', '60', ...OPTICS, ...ERROR,
    )).toContain('longitude is unknown');
    expect(refused(...SITE, ...TARGET, ...OPTICS, '--session', join(scratchFolder(), 'none.jsonl'))).toContain('no session');
    expect(refused(
      '--latitude', '47', '--declination', '89.95', '--hour-angle', '0', '--hours', '6', '--exposure', '60', ...OPTICS, '--altitude-error',
      '3', '--guide-offset', '0.5',
    )).toContain('point at the guide star');
    expect(poleward('budget', ...SITE, ...OPTICS, ...ERROR).status).toBe(2);
  });
});

test('the field rotation is the largest difference within the run, though the field turns out and back', () => {
  // An axis off in azimuth alone turns the field by the sine of the hour angle: from 3 h east to 3 h west it comes back to where it began.
  // By the small-angle rule it is ε cos φ (1 - cos 45°) / cos δ between the ends and the meridian: 0.0358°.
  const there = ['--latitude', '46.5', '--declination', '20', '--hour-angle', '-3', '--hours', '6', '--exposure', '300', '--no-refraction'];
  const words = [...there, ...OPTICS, '--altitude-error', '0', '--azimuth-error', '10'];
  const { guided } = JSON.parse(poleward('budget', ...words, '--json').out) as { guided: Record<string, number> };
  expect(guided['fieldRotationDeg']).toBeGreaterThan(0.0358 * 0.97);
  expect(guided['fieldRotationDeg']).toBeLessThan(0.0358 * 1.03);
  expect(guided['fieldRotationAtEndDeg']).toBeLessThan(0.002);
  expect(poleward('budget', ...words, '--full').out).toMatch(/field turns 0\.03\d° out and back/);
});

