import { chmodSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** One folder for all that tests put aside, gone when they end. */
export default function setup(): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'poleward-tests-'));
  // Some tests run as another user.
  chmodSync(folder, 0o755);
  for (const name of ['TMPDIR', 'TEMP', 'TMP']) process.env[name] = folder;
  return () => rmSync(folder, { recursive: true, force: true });
}
