import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

const root = fileURLToPath(new URL('../../', import.meta.url));
const dist = join(root, 'dist');
const cacheName = readdirSync(dist).find((name) => name.endsWith('.cache'))!;
const QUESTION = ['budget', '--altitude-error', '3', '--azimuth-error', '2', '--latitude', '46', '--longitude', '11', '--declination', '40',
  '--hour-angle', '-1', '--hours', '2', '--exposure', '120', '--focal-length', '500', '--pixel-size', '3.8', '--sensor', '6000x4000'];

test('the code cache is made for this Node, and this Node takes it', () => {
  expect(cacheName).toContain(`-${process.version}-${process.platform}-${process.arch}.cache`);
  // As the program starts: with V8's flags as it sets them.
  const start = readFileSync(join(dist, 'cli', 'main.js'), 'utf8')
    .replace(/script\.runInThisContext[^]*/, 'console.log(script.cachedDataRejected);');
  const place = join(dist, 'cli', `start-${process.pid}.mjs`);
  writeFileSync(place, start);
  try {
    expect(spawnSync(process.execPath, [place], { encoding: 'utf8' })).toMatchObject({ status: 0, stdout: 'false\n', stderr: '' });
  } finally {
    rmSync(place);
  }
});

test('without the cache, or with one that is cut short or another file, the program does the same', () => {
  const expected = poleward(...QUESTION);
  expect(expected.status).toBe(0);
  const folder = scratchFolder();
  mkdirSync(join(folder, 'dist', 'cli'), { recursive: true });
  for (const path of ['package.json', 'dist/poleward.cjs', 'dist/cli/main.js']) cpSync(join(root, path), join(folder, path));
  const whole = readFileSync(join(dist, cacheName));
  for (const cache of [null, whole.subarray(0, 100), whole.subarray(0, whole.length >> 1), Buffer.from('no cache'), Buffer.alloc(0)]) {
    const place = join(folder, 'dist', cacheName);
    if (cache) writeFileSync(place, cache);
    else rmSync(place, { force: true });
    const ran = spawnSync(process.execPath, [join(folder, 'dist', 'cli', 'main.js'), ...QUESTION], { encoding: 'utf8' });
    expect({ status: ran.status, out: ran.stdout, err: ran.stderr }).toEqual(expected);
  }
});
