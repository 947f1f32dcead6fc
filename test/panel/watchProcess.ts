import { type ChildProcess, spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

/** A running `poleward watch --json`, and what it has said. */
export interface WatchProcess {
  readonly child: ChildProcess;
  readonly addresses: readonly string[];
  /** The lines of JSON so far. */
  readonly lines: Readonly<Record<string, unknown>>[];
  /** Waits until `found` gives something of what was said: lines of JSON, and stderr. */
  until<T>(found: (lines: Readonly<Record<string, unknown>>[], err: string) => T | null): Promise<T>;
  /** Ends it as Ctrl-C does; the exit code. */
  stop(): Promise<number | null>;
}

export async function startWatch(folder: string, words: readonly string[], env: NodeJS.ProcessEnv = process.env): Promise<WatchProcess> {
  const child = spawn(process.execPath, [main, 'watch', folder, '--json', ...words], { env, stdio: ['ignore', 'pipe', 'pipe'] });
  const lines: Readonly<Record<string, unknown>>[] = [];
  let rest = '', err = '';
  const waiting = new Set<() => void>();
  const notice = (): void => { for (const wake of waiting) wake(); };
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    const parts = (rest + text).split('\n');
    rest = parts.pop()!;
    lines.push(...parts.map((line) => JSON.parse(line) as Record<string, unknown>));
    notice();
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => { err += text; notice(); });
  const ended = new Promise<number | null>((resolve) => { child.on('exit', (code) => { resolve(code); notice(); }); });
  const until = async <T>(found: (lines: Readonly<Record<string, unknown>>[], err: string) => T | null): Promise<T> => {
    for (;;) {
      const value = found(lines, err);
      if (value !== null) return value;
      if (child.exitCode !== null) throw new Error(`The watch ended: ${err}`);
      await new Promise<void>((resolve) => {
        const wake = (): void => { waiting.delete(wake); resolve(); };
        waiting.add(wake);
      });
    }
  };
  await until((said) => (said.some((l) => l['message'] === 'ready') ? true : null));
  const addresses = lines.find((l) => l['message'] === 'panel')?.['addresses'] as string[] | undefined;
  return {
    child, lines, addresses: addresses ?? [], until,
    stop: () => { child.kill('SIGINT'); return ended; },
  };
}
