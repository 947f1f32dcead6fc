import { existsSync, linkSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { forgetTemporary, rememberTemporary } from './temporaries.js';

/**
 * Refuses a file that can't be written or must not be replaced, before long work, so that nobody waits for nothing.
 * @throws PolewardError `bad-option`
 */
export function checkWritable(path: string, overwrite: boolean): void {
  if (!existsSync(dirname(resolve(path)))) throw cantWrite(path, 'ENOENT');
  if (existsSync(path) && !overwrite) throw cantWrite(path, 'EEXIST');
}

/**
 * Writes a file so that it appears complete or not at all: first under a temporary name, which an interrupt deletes.
 * @throws PolewardError `bad-option` if it exists (unless `overwrite`) or can't be written
 */
export function writeWhole(path: string, content: Uint8Array | string, overwrite: boolean): void {
  const temporary = writeTemporary(path, content);
  try {
    moveIntoPlace(temporary, path, overwrite);
  } finally {
    removeTemporary(temporary);
  }
}

/** Writes the content of the file `path` under a temporary name beside it, and returns that name. Throws PolewardError `bad-option`. */
export function writeTemporary(path: string, content: Uint8Array | string): string {
  const place = resolve(path);
  const temporary = join(dirname(place), `.${basename(place)}.${process.pid}.part`);
  rememberTemporary(temporary);
  try {
    writeFileSync(temporary, content);
  } catch (error) {
    removeTemporary(temporary);
    throw cantWrite(path, codeOf(error));
  }
  return temporary;
}

/** Gives a file from {@link writeTemporary} its final name. Throws PolewardError `bad-option`; the temporary file may then stay. */
export function moveIntoPlace(temporary: string, path: string, overwrite: boolean): void {
  try {
    moveInto(temporary, resolve(path), overwrite);
  } catch (error) {
    throw cantWrite(path, codeOf(error));
  }
}

/** Deletes a temporary file if it still exists. */
export function removeTemporary(temporary: string): void {
  rmSync(temporary, { force: true });
  forgetTemporary(temporary);
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : String(error);
}

/** Gives a finished file its final name. Without `overwrite` a file that came there meanwhile also stays, where the disk supports that. */
function moveInto(temporary: string, place: string, overwrite: boolean): void {
  if (overwrite) {
    renameSync(temporary, place);
    return;
  }
  try {
    linkSync(temporary, place);
  } catch (error) {
    // Memory cards and some network shares have no links.
    if (codeOf(error) === 'EEXIST') throw error;
    if (existsSync(place)) throw Object.assign(new Error('exists'), { code: 'EEXIST' });
    renameSync(temporary, place);
  }
}

function cantWrite(path: string, code: string): PolewardError {
  const says = code === 'EEXIST' ? `${path} exists already. Give another name, or let it be replaced.`
    : code === 'ENOENT' || code === 'ENOTDIR' ? `The folder of ${path} does not exist. Make it first.`
      : code === 'EISDIR' ? `${path} is a folder. Give the name of a file.`
        : code === 'ENOSPC' || code === 'EDQUOT' ? `${path} can't be written: the disk is full. Make room, or give another place.`
          : code === 'EACCES' || code === 'EPERM' || code === 'EROFS' ? `${path} can't be written: the place is write-protected. Give `
            + 'another.'
            : `${path} can't be written (${code}). Give another place.`;
  return new PolewardError('bad-option', says, code === 'EEXIST' ? { remedies: ['overwrite'] } : {});
}
