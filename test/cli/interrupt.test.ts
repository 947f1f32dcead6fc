/**
 * Ctrl-C during long work, and the line of progress: through the built command line. At a true terminal by `script` of util-linux (Debian,
 * most Linux), skipped where it is missing; signals are not sent on Windows, where the system knows none between processes.
 */
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, watch, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const windows = process.platform === 'win32';
const scriptVersion = spawnSync('script', ['--version'], { encoding: 'utf8' });
const terminal = !windows && scriptVersion.status === 0 && /util-linux/.test(scriptVersion.stdout);

interface Ended { readonly code: number | null; readonly signal: string | null; readonly out: string; readonly err: string }

function start(words: readonly string[]): { child: ReturnType<typeof spawn>; ended: Promise<Ended> } {
  const child = spawn(process.execPath, [main, ...words]);
  let out = '', err = '';
  child.stdout.on('data', (b: Buffer) => { out += b.toString(); });
  child.stderr.on('data', (b: Buffer) => { err += b.toString(); });
  return { child, ended: new Promise((resolve) => { child.on('close', (code, signal) => { resolve({ code, signal, out, err }); }); }) };
}

describe.skipIf(windows)('Ctrl-C', () => {
  const partial = (folder: string): string[] => readdirSync(folder).filter((name) => name.endsWith('.part'));
  /** Resolves once a temporary file stands in the folder: then the command is in the middle of its work. */
  const firstPart = (folder: string): Promise<void> => new Promise((resolve) => {
    const watcher = watch(folder, () => {
      if (partial(folder).length === 0) return;
      watcher.close();
      resolve();
    });
  });

  test.each([['SIGINT', 130], ['SIGTERM', 143]] as const)('while frames are rendered (%s) leaves the folder as it was, says so, and '
    + 'exits %i', async (signal, code) => {
    const folder = scratchFolder();
    writeFileSync(join(folder, 'truth.json'), 'old');
    const begun = firstPart(folder);
    const { child, ended } = start([
      'simulate', '--out', folder, '--overwrite', '--size', '1200x900', '--rotations', Array.from({ length: 60 }, (_, i) => i).join(','),
    ]);
    await begun;
    child.kill(signal);
    const { code: exit, err, out } = await ended;
    expect(exit).toBe(code);
    expect(err.replace(/\s+/g, ' ')).toMatch(new RegExp(
      `^Stopped \\(exit ${code}\\): no file is left half-written, and the session is whole\\.`,
    ));
    expect(out).toBe('');
    expect(readdirSync(folder)).toEqual(['truth.json']);
    expect(readFileSync(join(folder, 'truth.json'), 'utf8')).toBe('old');
  });
});

describe.skipIf(!terminal)('at a terminal', () => {
  const folder = scratchFolder();
  const [first] = writeNight(folder, { rotationsDeg: [0] });
  const night = writeNight(folder, { rotationsDeg: [0, 40, 80] });
  // The same frames again and again: enough work to be interrupted in.
  const many = Array.from({ length: 40 }, (_, i) => night[i % 3] ?? first!);
  const typed = (words: readonly string[]): string => words.map((w) => `'${w.replaceAll("'", `'\\''`)}'`).join(' ');

  test('progress is shown and taken back, Ctrl-C is heard, nothing is recorded and no picture is left', async () => {
    const session = join(folder, 'night.jsonl');
    const command = typed([
      process.execPath, main, 'measure', ...many, ...SITE_WORDS, '--session', session, '--picture', join(folder, 'x.svg'),
    ]);
    const child = spawn('script', ['-qec', command, '/dev/null'], { env: { ...process.env, TERM: 'xterm' } });
    let seen = '';
    const code = await new Promise<number | null>((resolve) => {
      child.stdout.on('data', (b: Buffer) => {
        const before = seen.includes('frames read and recognised: ');
        seen += b.toString();
        // The key itself: the terminal makes a signal of it.
        if (!before && seen.includes('frames read and recognised: ')) child.stdin.write('\u0003');
      });
      child.on('close', resolve);
    });
    expect(seen).toMatch(/frames read and recognised: \d+ of 40/);
    expect(code).toBe(130);
    expect(seen.replace(/\s+/g, ' ')).toMatch(/Stopped \(exit 130\)/);
    expect(seen.indexOf('\u001b[2K', seen.lastIndexOf('frames read and recognised'))).toBeGreaterThan(0);
    expect(existsSync(session)).toBe(false);
    expect(readdirSync(folder).filter((name) => /\.(svg|part)$/.test(name))).toEqual([]);
  });
});

describe('not at a terminal', () => {
  test('no progress goes into a file or pipe, however long the work', () => {
    const folder = join(scratchFolder(), 'made');
    mkdirSync(folder);
    const ran = poleward('simulate', '--out', folder, '--rotations', Array.from({ length: 12 }, (_, i) => 5 * i).join(','));
    expect([ran.status, ran.err]).toEqual([0, '']);
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
    expect(readdirSync(folder)).toHaveLength(13);
  });
});
