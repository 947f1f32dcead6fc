import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { PolewardError } from '../error.js';
import { FilesTogether } from '../node/filesTogether.js';
import { makeFolder } from '../node/makeFolder.js';
import { checkWritable, writeWhole } from '../node/wholeFile.js';

/** The page as it was built, beside this program. */
const BUILT = new URL('../page/', import.meta.url);
/** The stars: the page's are the program's own, which the package holds once. */
const CATALOGUE = new URL('../sky/catalogue/', import.meta.url);
const STARS = ['sky.bin', 'stars.bin'];

/** What was written. */
export interface WrittenPage {
  readonly form: 'folder' | 'single';
  readonly files: readonly string[];
}

/**
 * Writes the page: into a folder, or as one file where `out` ends in .html.
 *
 * @throws PolewardError `bad-option` where a file exists (without `overwrite`) or can't be written
 */
export function writePage(out: string, overwrite: boolean): WrittenPage {
  if (/\.html?$/i.test(out)) {
    checkWritable(out, overwrite);
    writeWhole(out, built('poleward.html'), overwrite);
    return { form: 'single', files: [out] };
  }
  const names = builtFiles();
  for (const name of names) checkIn(out, name, overwrite);
  makeOut(out);
  const files = new FilesTogether(out, overwrite, false);
  try {
    for (const name of names) files.add(name, STARS.includes(name) ? built(name, CATALOGUE) : built(`folder/${name}`));
    files.finish();
  } finally {
    files.tidy();
  }
  return { form: 'folder', files: names };
}

function checkIn(out: string, name: string, overwrite: boolean): void {
  const path = join(out, name);
  if (overwrite || !existsSync(path)) return;
  throw new PolewardError('bad-option', `${path} exists already. Give another folder, or let it be replaced.`, { remedies: ['overwrite'] });
}

function makeOut(out: string): void {
  try {
    makeFolder(out);
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
    const why = code === 'EEXIST' || code === 'ENOTDIR' ? 'there is a file of that name' : code;
    throw new PolewardError('bad-option', `The folder ${out} can't be made (${why}). Give another place.`);
  }
}

function builtFiles(): string[] {
  try {
    return [...new Set([...readdirSync(new URL('folder/', BUILT)), ...STARS])].sort();
  } catch {
    throw notBuilt();
  }
}

function built(name: string, place = BUILT): Uint8Array {
  try {
    return readFileSync(new URL(name, place));
  } catch {
    throw notBuilt();
  }
}

function notBuilt(): PolewardError {
  return new PolewardError(
    'file-unreadable', 'The page is missing from this installation. Build it with npm run page, or install Poleward again.',
  );
}
