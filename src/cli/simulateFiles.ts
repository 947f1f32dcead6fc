import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { PolewardError } from '../error.js';
import { embeddedCatalogue } from '../node/embeddedCatalogue.js';
import { FilesTogether } from '../node/filesTogether.js';
import { makeFolder } from '../node/makeFolder.js';
import { type SimulateRequest, type Simulation, frameNames, simulation, simulationPlan } from '../tasks/simulate/simulation.js';
import { breathe } from '../node/breathe.js';
import { progress } from './progress.js';

const TRUTH = 'truth.json';

/**
 * Renders practice frames into a folder, with truth.json beside them: all of them or none. Files have temporary names until all are done;
 * between two frames Ctrl-C is handled.
 *
 * @throws PolewardError `bad-option` where a file exists or can't be written
 */
export async function simulateFiles(request: SimulateRequest, folder: string, overwrite: boolean): Promise<Simulation> {
  // What can't be rendered is refused before a folder is made for it.
  const plan = simulationPlan(request);
  const names = frameNames(plan);
  const madeFolder = makeOutFolder(folder);
  if (!overwrite) refuseExisting(folder, [...names, TRUTH]);
  const files = new FilesTogether(folder, overwrite, madeFolder);
  try {
    const steps = simulation(request, plan, embeddedCatalogue());
    let next = steps.next();
    for (let done = 1; !next.done; done++) {
      files.add(next.value.name, next.value.bytes);
      progress('frames rendered', done, names.length);
      await breathe();
      next = steps.next();
    }
    files.add(TRUTH, `${JSON.stringify(next.value, null, 2)}\n`);
    files.finish();
    return next.value;
  } finally {
    files.tidy();
  }
}

/** Makes the folder; true where it did not exist. */
function makeOutFolder(folder: string): boolean {
  const isNew = !existsSync(folder);
  try {
    makeFolder(folder);
  } catch (error) {
    const code = codeOf(error);
    const why = code === 'EEXIST' || code === 'ENOTDIR' ? 'there is a file of that name'
      : code === 'EACCES' || code === 'EPERM' || code === 'EROFS' ? 'the place is write-protected' : code;
    throw new PolewardError('bad-option', `The folder ${folder} can't be made (${why}). Give another to --out.`);
  }
  return isNew;
}

function refuseExisting(folder: string, names: readonly string[]): void {
  const there = names.find((name) => existsSync(join(folder, name)));
  if (there) throw new PolewardError('bad-option', `${join(folder, there)} exists already. Give another folder, or --overwrite.`);
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : String(error);
}
