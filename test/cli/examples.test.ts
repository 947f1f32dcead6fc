import { spawn, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { EXAMPLES } from '../../src/cli/examples.js';
import { poleward, scratchFolder } from './poleward.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

test('the help of every command ends with its example, and every example works in a fresh folder', async () => {
  const folder = scratchFolder();
  const commands = [...poleward('--help').out.matchAll(/^ {2}(\w+) \[options\]/gm)].map(([, name]) => name!);
  expect(commands.sort()).toEqual(Object.keys(EXAMPLES).sort());
  for (const [command, lines] of Object.entries(EXAMPLES)) {
    const help = poleward(command, '--help').out;
    expect(help.endsWith(`:\n${lines.map((line) => `  poleward ${line}\n`).join('')}`), command).toBe(true);
    for (const line of lines) expect([line, await status(folder, line.split(' '))]).toEqual([line, 0]);
  }
});

/** Exit code of an example; a watch is ended as a person does once it has answered the last frame there. */
function status(cwd: string, words: string[]): Promise<number | null> | number | null {
  if (words[0] !== 'watch') return spawnSync(process.execPath, [main, ...words], { cwd }).status;
  const child = spawn(process.execPath, [main, ...words], { cwd });
  let out = '', asked = false;
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    out += text;
    // The newest is answered first, the oldest last.
    if (asked || !/frame-1\.fits: in the night's record/.test(out)) return;
    asked = true;
    child.kill('SIGINT');
  });
  return new Promise((resolve) => { child.on('close', (code, signal) => { resolve(signal ? null : code); }); });
}
