import { tidyUp } from '../node/temporaries.js';
import { warn } from './output.js';

/** Exit code of a command that was stopped by Ctrl-C: 128 + the signal's number, as shells have it. */
export const INTERRUPTED = 130;
const TERMINATED = 143;

/**
 * From now on Ctrl-C (and Ctrl-Break on Windows, and a request to end) ends this command cleanly: temporary files are deleted, a sentence
 * on stderr says so, and the exit code shows it. The session needs no care: each of its lines is written in one call, and no signal can
 * come in between. A second Ctrl-C ends the process at once.
 */
export function endCleanly(night: boolean): void {
  const end = (code: number) => (): void => {
    tidyUp();
    warn(
      `Stopped (exit ${code}): no file is left half-written, and the session\nis whole. Run the command again to get its answer.`, night,
    );
    process.exit(code);
  };
  process.once('SIGINT', end(INTERRUPTED)).once('SIGTERM', end(TERMINATED));
  if (process.platform === 'win32') process.once('SIGBREAK', end(INTERRUPTED)).once('SIGHUP', end(TERMINATED));
}
