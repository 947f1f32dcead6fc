import { posix, win32 } from 'node:path';

/** What a platform's conventions depend on: `process` and `os.homedir()`, or a test's values. */
export interface Surroundings {
  readonly platform: string;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly home: string;
}

/**
 * The folder for data of a program that a user has not put anywhere: Poleward's own in it. Linux and others: `XDG_STATE_HOME`, else
 * `~/.local/state` (XDG Base Directory Specification 0.8, which also says that a relative path there is to be ignored); macOS:
 * `~/Library/Application Support`; Windows: `%LOCALAPPDATA%`.
 */
export function stateFolder({ platform, env, home }: Surroundings): string {
  const path = platform === 'win32' ? win32 : posix;
  const set = (name: string): string | null => {
    const value = env[name];
    return value !== undefined && path.isAbsolute(value) ? value : null;
  };
  const base = platform === 'win32' ? set('LOCALAPPDATA') ?? path.join(home, 'AppData', 'Local')
    : platform === 'darwin' ? path.join(home, 'Library', 'Application Support')
      : set('XDG_STATE_HOME') ?? path.join(home, '.local', 'state');
  return path.join(base, 'poleward');
}
