import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

interface Verification {
  readonly schema: string;
  readonly verdict: { readonly ready: boolean; readonly fix: string | null; readonly line: string };
  readonly drift: { readonly arcsecPerMinute: number; readonly pixelsPerExposure: number; readonly northArcsecPerMinute?: number };
  readonly shape: { readonly whole: { readonly fwhmPixels: number; readonly elongation: number } };
  readonly impliedAxis: {
    readonly fromTruePole: { altitudeArcmin: number; azimuthArcmin: number };
    readonly fromRefractedPole: { altitudeArcmin: number; azimuthArcmin: number };
    readonly sigma: { altitudeArcmin: number; azimuthArcmin: number };
  } | null;
  readonly missing: readonly string[];
  readonly frames: readonly { readonly used: boolean }[];
}

interface Warned {
  readonly warnings: readonly { readonly code: string; readonly message: string }[];
}

const folder = scratchFolder();
const frames = [1, 2, 3, 4, 5].map((k) => join(folder, `frame-${k}.fits`));
const COMMON = ['--size', '1000x700', '--focal-length', '400', '--pixel-size', '4', '--exposure', '60', '--interval', '150'];

function bare(path: string, to: string): string {
  // World coordinates are blanked as comments, card by card, so that the frame says nothing of where it points.
  const bytes = readFileSync(path);
  for (let at = 0; at < 2880 * 12; at += 80) {
    const keyword = bytes.toString('latin1', at, at + 8);
    if (keyword.startsWith('END')) break;
    if (/^(CTYPE|CRVAL|CRPIX|CD\d_|A_|B_)/.test(keyword)) bytes.write('COMMENT '.padEnd(80), at, 'latin1');
  }
  writeFileSync(to, bytes);
  return to;
}

describe('poleward verify', () => {
  beforeAll(() => {
    const made = poleward(
      'simulate', '--out', folder, '--target', '15,-3', '--frames', '5', '--altitude-error', '10', '--azimuth-error', '-14', '--jitter',
      '0.3', '--periodic-error', '3', ...COMMON,
    );
    expect(made.status).toBe(0);
    expect(made.out).toContain('poleward verify --unguided');
  }, 120_000);

  it('says what another place would make of it, where headers and options name two', () => {
    const here = JSON.parse(poleward('verify', '--unguided', '--no-session', '--json', ...frames).out) as Verification & Warned;
    expect(here.warnings.map((w) => w.code)).not.toContain('place-differs');
    const words = ['--latitude=46.5', '--longitude=26.2', ...frames];
    const there = JSON.parse(poleward('verify', '--unguided', '--no-session', '--json', ...words).out) as Verification & Warned;
    const said = there.warnings.find((w) => w.code === 'place-differs')!.message;
    expect(said).toMatch(/^The place used is 46\.500° N, 26\.200° E \(--latitude and --longitude\), but by FITS SITELAT .* it is /);
    const [, altitude, high, azimuth, east] = /would be ([\d.]+)′ (\w+) and ([\d.]+)′ (\w+) instead of/.exec(said)!;
    const { altitudeArcmin, azimuthArcmin } = here.impliedAxis!.fromRefractedPole;
    // The field and so the fit are the same; where its axis stands against the pole is not.
    expect(Math.abs(Number(altitude) * (high === 'high' ? 1 : -1) - altitudeArcmin)).toBeLessThan(0.3);
    expect(Math.abs(Number(azimuth) * (east === 'east' ? 1 : -1) - azimuthArcmin)).toBeLessThan(0.3);
  });

  it('finds the axis error that the frames were made with, and says that it is to be fixed first', () => {
    const ran = poleward('verify', '--unguided', '--no-session', '--json', ...frames);
    expect(ran.status).toBe(3);
    const v = JSON.parse(ran.out) as Verification;
    expect(v.schema).toBe('poleward/verification-1');
    expect(v.verdict.fix).toBe('axis');
    const { fromTruePole, sigma } = v.impliedAxis!;
    expect(Math.abs(fromTruePole.altitudeArcmin - 10)).toBeLessThan(3 * sigma.altitudeArcmin);
    expect(Math.abs(fromTruePole.azimuthArcmin + 14)).toBeLessThan(3 * sigma.azimuthArcmin);
    expect(Math.max(sigma.altitudeArcmin, sigma.azimuthArcmin)).toBeLessThan(2);
    expect(v.shape.whole.fwhmPixels).toBeGreaterThan(2.2);
    expect(v.shape.whole.fwhmPixels).toBeLessThan(3.2);
  });

  it('reads in 60 columns and on one screen, the line to act on first', () => {
    const { out } = poleward('verify', '--unguided', '--no-session', ...frames);
    expect(out.trimEnd().split('\n').length).toBeLessThanOrEqual(24);
    expect(out).toMatch(/axis implied/);
    expect(out.split('\n').filter((line) => line.length > 60 && !line.includes('.fits'))).toEqual([]);
    expect(out).toMatch(/^fix first: the axis:/);
    expect(out.replace(/\s+/g, ' ')).toMatch(/time \d{4}-\d\d-\d\d [\d:]+ to [\d:]+ UTC, mid-exposure \(FITS DATE-OBS/);
  });

  it('gives all figures with --full: causes, the stars by regions, each frame, the field', () => {
    const { out } = poleward('verify', '--unguided', '--no-session', '--full', ...frames);
    expect(out).toMatch(/^causes, [^]*^ {2}middle [^]*^minutes stars [^]*^field in /m);
    expect(out.split('\n').filter((line) => line.length > 60 && !line.includes('.fits'))).toEqual([]);
  });

  it('of frames without an axis error or gear it names no direction and no gear, and says at most how far off the axis is', () => {
    // The refracted pole stands 1′ above the true one there.
    const calm = scratchFolder();
    poleward('simulate', '--out', calm, '--target', '15,-3', '--frames', '7', '--altitude-error', '1', '--azimuth-error', '0', ...COMMON);
    const { out } = poleward('verify', '--unguided', '--no-session', ...[1, 2, 3, 4, 5, 6, 7].map((k) => join(calm, `frame-${k}.fits`)));
    const text = out.replace(/\s+/g, ' ');
    expect(text).toMatch(/^ready: /);
    expect(text).not.toMatch(/periodic error|too high|too low|too far/);
    expect(text).toMatch(/altitude (off by at most [\d.]+′, which way is not known|: these frames don't tell)/);
  });

  it('without knowing where north is it gives what does not need it, and says what is missing', () => {
    const plain = [0, 2, 4].map((k) => bare(frames[k]!, join(folder, `bare ${k}.fits`)));
    const v = JSON.parse(poleward('verify', '--unguided', '--no-session', '--json', ...plain).out) as Verification;
    expect(v.impliedAxis).toBeNull();
    expect(v.missing.join(' ')).toContain('--position-angle');
    expect(v.drift.arcsecPerMinute).toBeGreaterThan(2);
    expect(v.drift.northArcsecPerMinute).toBeUndefined();
  });

  it('a frame of another field is left out with a sentence, and the others still give a result', () => {
    const other = scratchFolder();
    poleward('simulate', '--out', other, '--target', '40,-1', '--frames', '1', '--seed', 'other', ...COMMON);
    const ran = poleward('verify', '--no-session', '--json', ...frames, join(other, 'frame-1.fits'));
    const v = JSON.parse(ran.out) as Verification & Warned;
    expect(v.frames.map((f) => f.used)).toEqual([true, true, true, true, true, false]);
    expect(v.warnings).toEqual([{
      code: 'frame-skipped',
      message: `${join(other, 'frame-1.fits')} shares too few stars with the others: cloud, another field, another camera, or a camera `
        + 'turned round. It was left out.',
    }]);
    const without = JSON.parse(poleward('verify', '--no-session', '--json', ...frames).out) as Verification;
    expect(v.drift).toEqual(without.drift);
    expect(v.impliedAxis).toEqual(without.impliedAxis);
  });

  it('the same picture again, a frame of another night and one of another size are left out, each with its reason', () => {
    const aside = scratchFolder();
    const copy = join(aside, 'copy.fits');
    copyFileSync(frames[2]!, copy);
    const night = join(aside, 'night before.fits');
    const bytes = readFileSync(frames[3]!);
    const at = bytes.indexOf('DATE-OBS=');
    const card = bytes.toString('latin1', at, at + 80);
    const date = /\d{4}-\d\d-\d\d/.exec(card)![0];
    bytes.write(card.replace(date, new Date(Date.parse(date) - 86_400_000).toISOString().slice(0, 10)), at, 'latin1');
    writeFileSync(night, bytes);
    poleward('simulate', '--out', join(aside, 'small'), '--target', '15,-3', '--frames', '1', ...COMMON, '--size', '800x600');
    const ran = poleward('verify', '--no-session', '--json', ...frames, copy, night, join(aside, 'small', 'frame-1.fits'));
    const v = JSON.parse(ran.out) as Verification & Warned;
    expect(v.frames.filter((f) => f.used)).toHaveLength(5);
    const said = v.warnings.filter((w) => w.code === 'frame-skipped').map((w) => w.message);
    expect(said).toHaveLength(3);
    expect(said.find((m) => m.includes('copy.fits'))).toMatch(/is the same picture as .*frame-3\.fits/);
    expect(said.find((m) => m.includes('night before.fits'))).toMatch(/23 h \d+ min before .* of another night, leave it out/);
    expect(said.find((m) => m.includes('small'))).toMatch(/is 800x600 pixels, the others 1000x700/);
  });

  it.each([
    ['one frame', () => [frames[0]!], 'One frame shows no drift'],
    ['a target below the horizon', () => ['--declination', '-60', '--hour-angle', '0', ...frames], 'below the horizon'],
    ['an exposure longer than the run', () => ['--exposure', '9000', ...frames], 'longer than'],
    ['an hour angle without a declination', () => ['--hour-angle', '1', ...frames], '--declination'],
    ['the same frame twice', () => [frames[0]!, frames[0]!], 'was given twice'],
  ])('%s is refused in a sentence', (_, words, says) => {
    const ran = poleward('verify', '--no-session', ...words());
    expect(ran.status).toBe(1);
    expect(ran.err).toContain(says);
    expect(ran.err).not.toMatch(/\n\s+at /);
  });

  it('guided and unguided at once is wrong usage', () => {
    expect(poleward('verify', '--guided', '--unguided', ...frames).status).toBe(2);
  });
});
