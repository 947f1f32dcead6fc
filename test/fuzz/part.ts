/**
 * A process that reads hostile inputs of one reader, and tells its parent before and after each: so that the parent knows which one
 * ended or held it. Inputs that fail are kept. Arguments: reader, seed, first index, index after the last, file for the input at
 * work, folder to keep inputs in.
 */
import { copyFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeRandom } from '../../src/simulate/random.js';
import { longestMs, MOST_BYTES } from './limits.js';
import { COSTLY, READERS } from './readers.js';

export interface PartSays {
  readonly index: number;
  /** Null where it was just begun. */
  readonly ended: {
    readonly kind: 'read' | 'refused';
    /** Why it failed; null where it did not. */
    readonly failure: string | null;
    /** Of processor, all threads together: the machine may be busy. */
    readonly milliseconds: number;
    /** Of the process, so far. */
    readonly peakBytes: number;
  } | null;
}

const [name, seed, first, end, path, keepIn] = process.argv.slice(2) as [string, string, string, string, string, string];
const reader = [...READERS, COSTLY].find((r) => r.name === name);
if (!reader || !process.send) throw new Error(`no reader ${name}, or no parent`);

let unhandled: string | null = null;
const note = (error: unknown): void => { unhandled = `unhandled: ${error instanceof Error ? String(error.stack) : String(error)}`; };

const timed = async (): Promise<{ kind: 'read' | 'refused'; trouble: string | null; milliseconds: number }> => {
  const begun = process.cpuUsage();
  const outcome = await reader.read(path);
  const { user, system } = process.cpuUsage(begun);
  return { ...outcome, milliseconds: (user + system) / 1000 };
};
const tell = (says: PartSays): void => void process.send?.(says);
const peak = (): number => process.resourceUsage().maxRSS * 1024;

const make = await reader.setUp();
process.on('unhandledRejection', note).on('uncaughtException', note);
for (let index = Number(first); index < Number(end); index++) {
  const input = make(makeRandom(`${seed}/${name}/${index}`));
  writeFileSync(path, input);
  const longest = longestMs(input.length);
  tell({ index, ended: null });
  const before = peak();
  const once = await timed();
  // Errors that nothing waits for arrive one turn of the event loop later.
  await new Promise(setImmediate);
  // A slow first time may be garbage collection or compilation; a second one is not.
  const milliseconds = once.milliseconds > longest ? Math.min(once.milliseconds, (await timed()).milliseconds) : once.milliseconds;
  const peakBytes = peak();
  const failure = unhandled ?? once.trouble
    ?? (milliseconds > longest ? `took ${(milliseconds / 1000).toFixed(1)} s, twice` : null)
    ?? (peakBytes > MOST_BYTES && before <= MOST_BYTES ? `memory of ${(peakBytes / 2 ** 20).toFixed(0)} MiB` : null);
  unhandled = null;
  if (failure !== null) copyFileSync(path, join(keepIn, `${name}-${seed}-${index}`));
  tell({ index, ended: { kind: once.kind, failure, milliseconds, peakBytes } });
}
process.disconnect();
