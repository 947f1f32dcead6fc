/** A watch of the built command line, as a test drives it. */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

interface ErrorOut {
  readonly altitudeArcmin: number;
  readonly azimuthArcmin: number;
  readonly separationArcmin: number;
}

/** What a line of an answer holds. */
export interface Out {
  readonly axis: {
    readonly fromTruePole: ErrorOut;
    readonly fromRefractedPole: ErrorOut;
    readonly sigma: { readonly altitudeArcmin: number; readonly azimuthArcmin: number };
  };
  readonly frames: readonly { readonly file: string; readonly used: boolean; readonly utc: string | null }[];
  readonly warnings: readonly { readonly code: string; readonly message: string }[];
  readonly doubts: readonly { readonly code: string; readonly message: string; readonly settle: string }[];
  readonly verdict: unknown;
  readonly next: string;
  readonly knobs: readonly unknown[];
  readonly taken?: string;
  readonly recorded?: string;
}

export interface Watch {
  /** All answers, once there are so many. */
  answers(count: number): Promise<Out[]>;
  /** Waits for words on stderr. */
  trouble(text: RegExp): Promise<void>;
  /** Waits until a condition holds, which is tried with each line that the watch writes; then all answers. */
  when(holds: () => boolean): Promise<Out[]>;
  /** Waits for a message that is not an answer. */
  messages(text: RegExp): Promise<void>;
}

/** Runs `watch --json` on a folder until `act` is done, ends it as Ctrl-C does, and gives its exit code and what it said. */
export async function watching(
  folder: string, words: readonly string[], act: (watch: Watch) => Promise<void>,
): Promise<{ readonly status: number | null; readonly out: string; readonly err: string }> {
  const child = spawn(process.execPath, [main, 'watch', folder, '--json', ...words]);
  let out = '', err = '';
  let over: number | null | undefined;
  let notice = (): void => {};
  child.stdout.setEncoding('utf8').on('data', (text: string) => { out += text; notice(); });
  child.stderr.setEncoding('utf8').on('data', (text: string) => { err += text; notice(); });
  const ended = new Promise<number | null>((resolve) => { child.on('close', (code) => { over = code; notice(); resolve(code); }); });
  const until = async <T>(found: () => T | null): Promise<T> => {
    for (;;) {
      const value = found();
      if (value !== null) return value;
      if (over !== undefined) throw new Error(`The watch ended with ${String(over)}.\n${out}\n${err}`);
      await new Promise<void>((resolve) => { notice = resolve; });
    }
  };
  const lines = (schema: string): unknown[] => out.split('\n').slice(0, -1)
    .filter((line) => line.startsWith(`{"schema":"${schema}"`)).map((line) => JSON.parse(line) as unknown);
  const said = (): string => lines('poleward/watch-1').map((line) => (line as { message: string }).message.replace(/\s+/g, ' ')).join('\n');
  try {
    await until(() => (/"ready"/.test(out) ? true : null));
    await act({
      answers: (count) => until(() => (lines('poleward/measurement-1').length >= count ? lines('poleward/measurement-1') as Out[] : null)),
      when: (holds) => until(() => (holds() ? lines('poleward/measurement-1') as Out[] : null)),
      trouble: (text) => until(() => (text.test(err.replace(/\s+/g, ' ')) ? true : null)).then(() => undefined),
      messages: (text) => until(() => (text.test(said()) ? true : null)).then(() => undefined),
    });
  } finally {
    child.kill('SIGINT');
    await ended;
  }
  return { status: await ended, out, err };
}
