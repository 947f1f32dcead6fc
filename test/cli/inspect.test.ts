import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';
import { fitsFile } from '../../src/simulate/fitsFile.js';
import { poleward, scratchFolder, strewnStars, writeNight } from './poleward.js';

const [good] = writeNight(scratchFolder(), {});
const spoken = (text: string): string => text.replace(/\s+/g, ' ');

/** A copy with a card's keyword spoilt. */
function without(keyword: string): string {
  const bytes = readFileSync(good!);
  const at = bytes.indexOf(keyword.padEnd(8));
  bytes.write('COMMENT ', at, 'latin1');
  const path = join(scratchFolder(), 'frame.fits');
  writeFileSync(path, bytes);
  return path;
}

test('without a time the frame is recognised all the same, and what the stars were placed for is said', () => {
  const timeless = without('DATE-OBS');
  const [with_, ran] = [poleward('inspect', good!), poleward('inspect', timeless)];
  expect(ran.status, ran.err).toBe(0);
  const pointing = (text: string): string => /points at RA [\d.]+ h, Dec [\d.]+°/.exec(spoken(text))![0];
  expect(pointing(ran.out)).toBe(pointing(with_.out));
  expect(spoken(ran.out)).toMatch(/the stars were placed for \d{4}-\d\d-\d\d, since the time is not known/);
  expect(spoken(ran.out)).toMatch(/does not say when it was taken.*\(--time, --file-times\)\./);
  const json = JSON.parse(poleward('inspect', timeless, '--json').out) as { utc: null; identified: number; hindrances: { code: string }[] };
  expect(json.utc).toBeNull();
  expect(json.identified).toBeGreaterThan(20);
  expect(json.hindrances.map((h) => h.code)).toEqual(['no-time']);
  const wcs = join(scratchFolder(), 'w.fits');
  expect(poleward('inspect', timeless, '--wcs', wcs).status).toBe(0);
  expect(readFileSync(wcs, 'latin1')).not.toContain('DATE-AVG');
});

test('a frame whose stars are not recognised shows what it has, and says why on the error stream', () => {
  const path = join(scratchFolder(), 'strewn.fits');
  writeFileSync(path, fitsFile(strewnStars(600, 400, 10, 5), [['EXPTIME', 4, '']]));
  const { status, out, err } = poleward('inspect', path);
  expect(status).toBe(1);
  expect(spoken(out)).toMatch(/strewn\.fits: 600 x 400 pixels, \d+ stars found, none recognised stars [\d.]+ px wide \(FWHM\), sky 1000 ± 12\.\d a pixel/);
  expect(spoken(out)).toContain('exposure 4 s (FITS EXPTIME)');
  expect(err).toMatch(/does not say when it was taken/);
  expect(err).toMatch(/none of them were recognised/);
  // For a program, of a frame that is given up at once.
  writeFileSync(path, fitsFile(strewnStars(600, 400, 3, 5), [['EXPTIME', 4, '']]));
  const json = JSON.parse(poleward('inspect', path, '--json').out) as { centre: null; detected: number; hindrances: { code: string }[] };
  expect(json).toMatchObject({ centre: null, identified: 0 });
  expect(json.hindrances.map((h) => h.code)).toEqual(['no-time', 'no-stars']);
});

test('a latitude of the wrong sign does not hide where the frame points', () => {
  const { status, out } = poleward('inspect', good!, '--latitude=-46.5', '--longitude', '11.2');
  expect(status).toBe(0);
  expect(out).toMatch(/points at RA/);
  expect(spoken(out)).toMatch(/shows the stars of the north celestial pole, but the latitude given is south/);
});

test('saturated stars are counted', async () => {
  expect(poleward('inspect', good!).out).not.toMatch(/saturated/);
  const { image } = await readFrame(good!);
  const ceiling = [...image.data].sort((a, b) => b - a)[60]!;
  const path = join(scratchFolder(), 'full.fits');
  const data = Uint16Array.from(image.data, (value) => Math.min(value, ceiling));
  const cards = [['DATE-OBS', '2026-11-25T20:00:00'], ['EXPTIME', 4]] as const;
  writeFileSync(path, fitsFile({ width: image.width, height: image.height, data, ceiling }, cards));
  expect(poleward('inspect', path).out).toMatch(/\d+ of the stars (is|are) saturated/);
});
