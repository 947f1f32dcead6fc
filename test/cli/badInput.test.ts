import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { fitsFile } from '../../src/simulate/fitsFile.js';
import { skyFramePaths } from '../skies.js';
import { SITE_WORDS, poleward, scratchFolder, strewnStars, writeNight } from './poleward.js';

const folder = scratchFolder();
const good = writeNight(folder, { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 });
const inFolder = (name: string, bytes: Uint8Array | string): string => {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
};
const time = ['DATE-OBS', '2026-11-25T20:00:00'] as const;

const missing = join(folder, 'not there.fits');
const text = inFolder('notes.txt', 'clear skies\n');
const empty = inFolder('empty.fits', '');
const cut = inFolder('cut.fits', readFileSync(good[0]!).subarray(0, 500_000));
const dark = inFolder('dark.fits', fitsFile(strewnStars(800, 600, 0, 1), [time]));
const elsewhere = inFolder('elsewhere.fits', fitsFile(strewnStars(800, 600, 12, 1), [time]));
const small = inFolder('small.fits', fitsFile(strewnStars(640, 480, 10, 9), [time]));
const subfolder = join(folder, 'a folder');
mkdirSync(subfolder);
const timeless = writeTimeless();

function writeTimeless(): string {
  const target = scratchFolder();
  return writeNight(target, {}, ['SITELAT', 'SITELONG', 'SITEELEV', 'DATE-OBS'])[0]!;
}

/** One sentence of what is wrong and one of what to do, nothing else. */
function expectClear(err: string): void {
  expect(err).not.toMatch(/\n\s+at |node:|undefined|NaN|\[object/);
  for (const line of err.trim().split('\n')) expect(line).toMatch(/[.!]$/);
  expect(err.trim().split(/[.!?](?:\s|$)/).filter(Boolean).length).toBeGreaterThanOrEqual(2);
}

describe('two frames that can\'t be used are refused in words, with exit 1', () => {
  test.each([
    ['a file that is not there', [missing, missing], /There is no file .*not there\.fits/],
    ['a text', [text, text], /notes\.txt is not an image/],
    ['an empty file', [empty, empty], /empty\.fits is empty/],
    ['a file cut short', [cut, cut], /cut\.fits is cut short/],
    ['a folder without frames', [subfolder, subfolder], /There are no frames in the folder/],
    ['noise without stars', [dark, dark], /dark\.fits shows no stars/],
    ['stars that are nowhere in the sky', [elsewhere, dark], /none of them were recognised anywhere in the sky/],
    ['frames without a time', [timeless, timeless], /does not say when it was taken/],
  ])('%s', (_, frames, says) => {
    const ran = poleward('measure', ...frames, ...SITE_WORDS);
    expect(ran.status).toBe(1);
    expect(ran.out).toBe('');
    expect(ran.err).toMatch(says);
    expectClear(ran.err);
  });

  test('one frame only', () => {
    const ran = poleward('measure', good[0]!, ...SITE_WORDS);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toMatch(/One frame alone does not show the axis\. Give two or more/);
    expectClear(ran.err);
    expect(poleward('measure', missing, ...SITE_WORDS).err).toMatch(/There is no file .*not there\.fits/);
  });

  test('frames with no rotation between them, drive off: the sky turned, the mount did not', () => {
    const still = writeNight(scratchFolder(), { rotationsDeg: [0, 0], tracking: false, intervalSeconds: 900 });
    const ran = poleward('measure', ...still, ...SITE_WORDS);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toMatch(/was not turned between these frames/);
    expectClear(ran.err);
  });

  test('frames of two sizes and nothing to choose by', () => {
    const ran = poleward('measure', good[0]!, small, ...SITE_WORDS);
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/small\.fits is 640x480 pixels, the others 800x600/);
    expectClear(ran.err);
  });

  test('a latitude with the wrong sign', () => {
    const ran = poleward('measure', ...good, '--latitude', '-46.5', '--longitude', '11.2');
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/north celestial pole, but the latitude given is south\. .*Check the sign/s);
  });
});

describe('where other frames suffice the bad one is named, skipped and warned about', () => {
  test.each([
    ['missing', missing], ['no image', text], ['cut short', cut], ['without stars', dark], ['elsewhere', elsewhere],
    ['of another size', small], ['without a time', timeless],
  ])('%s', (_, bad) => {
    const ran = poleward('measure', good[0]!, bad, good[1]!, good[2]!, ...SITE_WORDS, '--json');
    expect(ran.status, ran.err).toBe(0);
    const out = JSON.parse(ran.out) as {
      axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number } };
      frames: { file: string; used: boolean }[];
      warnings: { code: string; message: string }[];
    };
    expect(out.warnings.find((w) => w.code === 'frame-skipped')?.message).toContain(bad);
    expect(out.frames.map((f) => f.used)).toEqual([true, false, true, true]);
    expect(out.axis.fromTruePole.altitudeArcmin).toBeCloseTo(10, 1);
    expect(out.axis.fromTruePole.azimuthArcmin).toBeCloseTo(-12, 1);
  });

  test('in text the warning goes to stderr, the answer to stdout', () => {
    const ran = poleward('measure', ...good, cut, ...SITE_WORDS);
    expect(ran.status).toBe(0);
    expect(ran.out).toMatch(/^azimuth first: move the axis 12\.0′ east/);
    expect(ran.out.replace(/\s+/g, ' ')).toMatch(/9\.2\d?\d?′ too high, (11\.9|12\.0)\d′ too far west/);
    expect(ran.err).toMatch(/warning: Left out: .*cut\.fits\s+is\s+cut\s+short/s);
  });
});

describe('wrong usage exits 2 and says what would be right', () => {
  test.each([
    ['no command', []],
    ['an unknown command', ['align']],
    ['no frames', ['measure']],
    ['a latitude beyond the pole', ['measure', good[0]!, good[1]!, '--latitude', '91']],
    ['a pressure in other units', ['measure', good[0]!, good[1]!, '--pressure', '29.9']],
    ['an unknown option', ['measure', good[0]!, good[1]!, '--fast']],
    ['an offset that is none', ['measure', good[0]!, good[1]!, '--utc-offset', 'two']],
    ['an aim that is none', ['measure', good[0]!, good[1]!, '--aim', 'high']],
  ])('%s', (_, words) => {
    const ran = poleward(...words);
    expect(ran.status).toBe(2);
    expect(ran.err).not.toBe('');
    expect(ran.err).not.toMatch(/\n\s+at /);
  });
});

describe('latitude and longitude', () => {
  test('may be written in degrees and minutes, and as negative numbers', () => {
    const a = poleward('measure', ...good, '--latitude', '46 30 00 N', '--longitude', '11°12′E', '--elevation', '1200', '--json');
    const b = poleward('measure', ...good, ...SITE_WORDS, '--json');
    expect(a.status, a.err).toBe(0);
    expect(JSON.parse(a.out)).toMatchObject({ axis: (JSON.parse(b.out) as { axis: object }).axis });
    const west = poleward('measure', ...skyFramePaths('guide-north'), '--latitude', '39.2', '--longitude', '-3.4', '--json');
    expect(west.status, west.err).toBe(0);
  });

  test('come from the header where the command line is silent', () => {
    const target = scratchFolder();
    const frames = writeNight(target, { altitudeErrorArcmin: 10 }, []);
    copyFileSync(frames[0]!, join(target, 'copy.fits'));
    const out = JSON.parse(poleward('measure', ...frames, '--json').out) as { site: { latitudeDeg: { value: number; from: string } } };
    expect(out.site.latitudeDeg).toEqual({ value: 46.5, from: 'FITS SITELAT' });
  });
});
