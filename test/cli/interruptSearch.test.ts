import { spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { fitsFile } from '../../src/simulate/fitsFile.js';
import { scratchFolder, strewnStars } from './poleward.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const told = new URL('./whenSearching.mjs', import.meta.url).href;

test('Ctrl-C is heard while stars are searched for that are none', { skip: process.platform === 'win32' }, async () => {
  const folder = scratchFolder();
  const paths = [1, 2, 3, 4].map((seed) => {
    const path = join(folder, `no sky ${seed}.fits`);
    writeFileSync(path, fitsFile(strewnStars(700, 500, 200, seed), [['DATE-OBS', `2026-11-25T20:3${seed}:00`], ['EXPTIME', 2]]));
    return path;
  });
  const child = spawn(process.execPath, ['--import', told, main, 'measure', ...paths, '--no-session'], {
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
  });
  let err = '';
  child.stderr!.setEncoding('utf8').on('data', (text: string) => { err += text; });
  child.once('message', () => { child.kill('SIGINT'); });
  const code = await new Promise<number | null>((resolve) => { child.on('close', resolve); });
  expect(err).toMatch(/Stopped \(exit 130\)/);
  expect(code).toBe(130);
});
