import { spawn } from 'node:child_process';
import { copyFileSync, mkdtempSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

/**
 * Milliseconds from the moment a frame stands in the watched folder (renamed into place, whole) to the answer, frame by frame.
 * The first two start the measurement and warm the process.
 */
export async function watchLatency(frames: readonly string[], cache: string): Promise<number[]> {
  const folder = mkdtempSync(join(cache, 'watched-'));
  const copies = frames.map((frame, i) => {
    const copy = join(folder, `waiting-${i}.part`);
    copyFileSync(frame, copy);
    return copy;
  });
  const child = spawn(process.execPath, [main, 'watch', folder, '--json', '--no-session'], { stdio: ['ignore', 'pipe', 'inherit'] });
  let lines = 0;
  let notice = (): void => {};
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    lines += text.split('\n').length - 1;
    notice();
  });
  const waitFor = async (count: number): Promise<void> => {
    while (lines < count) await new Promise<void>((resolve) => { notice = resolve; });
  };
  await waitFor(1);
  const spent: number[] = [];
  for (const [i, copy] of copies.entries()) {
    const begin = performance.now();
    renameSync(copy, join(folder, `frame-${i}.fits`));
    await waitFor(2 + i);
    spent.push(performance.now() - begin);
  }
  child.kill('SIGINT');
  await new Promise((resolve) => { child.on('exit', resolve); });
  rmSync(folder, { recursive: true });
  return spent;
}
