import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

const folder = scratchFolder();
const good = writeNight(folder, { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 });
writeFileSync(join(folder, 'notes.txt'), 'clear');
writeFileSync(join(folder, '.hidden.fits'), 'nothing');

test('a folder stands for the frames in it, for measure, recheck and verify', () => {
  const axis = (...words: string[]): unknown => {
    const { out, err, status } = poleward('measure', ...words, ...SITE_WORDS, '--json');
    expect(status, err).toBe(0);
    return (JSON.parse(out) as { axis: unknown }).axis;
  };
  expect(axis(folder)).toEqual(axis(...good));
  const session = join(scratchFolder(), 'night.jsonl');
  expect(poleward('measure', folder, ...SITE_WORDS, '--session', session).status).toBe(0);
  expect(poleward('recheck', folder, '--session', session).out).toMatch(/off the refracted pole/);
  const verify = poleward('verify', folder);
  expect(verify.err).not.toMatch(/is a folder/);
  expect(poleward('measure', scratchFolder()).err).toMatch(/^There are no frames in the folder .*\. Name the one that they are saved in\.$/m);
});

test('budget names all that is missing at once', () => {
  const { status, err } = poleward('budget');
  expect(status).toBe(2);
  expect(err).toContain('these options are missing: --declination; --hour-angle, or --right-ascension with --start; --hours; --exposure; '
    + '--focal-length; --pixel-size');
});

test('numbers may have a decimal comma, unless it may stand between thousands', () => {
  const words = ['budget', '--declination', '20,5', '--hour-angle', '-2,5', '--hours', '3,5', '--exposure', '300', '--latitude', '46,5'];
  const more = ['--focal-length', '480', '--pixel-size', '3,76', '--altitude-error', '1', '--azimuth-error', '1', '--json'];
  const comma = poleward(...words, ...more), point = poleward(...[...words, ...more].map((word) => word.replace(',', '.')));
  expect(comma.out).not.toBe('');
  expect(comma.out).toBe(point.out);
  expect(poleward(...words, ...more, '--elevation', '1,200').err).toMatch(/The elevation "1,200" is not a number/);
});
