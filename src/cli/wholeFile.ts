import { existsSync, linkSync, renameSync, unlinkSync, writeFileSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { forgetTemporary, rememberTemporary } from './interrupt.js';

/**
 * Refuses a file to be written that can't be, or must not be replaced: before long work, so that nobody waits for nothing.
 * @throws PolewardError `bad-option`
 */
export function checkWritable(path: string, overwrite: boolean): void {
  if (!existsSync(dirname(resolve(path)))) throw cantWrite(path, 'ENOENT');
  if (existsSync(path) && !overwrite) throw cantWrite(path, 'EEXIST');
}

/**
 * Writes a file so that it is there whole or not at all: first beside its place under another name, which an interrupt takes away.
 * @throws PolewardError `bad-option` if it exists (unless `overwrite`) or can't be written
 */
export function writeWhole(path: string, content: Uint8Array | string, overwrite: boolean): void {
  const place = resolve(path);
  const temporary = join(dirname(place), `.${basename(place)}.${process.pid}.part`);
  rememberTemporary(temporary);
  try {
    writeFileSync(temporary, content, { flag: 'wx' });
    moveInto(temporary, place, overwrite);
  } catch (error) {
    throw cantWrite(path, error instanceof Error && 'code' in error ? String(error.code) : String(error));
  } finally {
    if (existsSync(temporary)) unlinkSync(temporary);
    forgetTemporary(temporary);
  }
}

/** Puts a finished file into its place. Without `overwrite` one that came there meanwhile stays, too, where the disk can see to it. */
function moveInto(temporary: string, place: string, overwrite: boolean): void {
  if (overwrite) {
    renameSync(temporary, place);
    return;
  }
  try {
    linkSync(temporary, place);
  } catch (error) {
    // Memory cards and some network shares know no links.
    if (existsSync(place)) throw error instanceof Error && 'code' in error && error.code === 'EEXIST' ? error : Object.assign(new Error('exists'), { code: 'EEXIST' });
    renameSync(temporary, place);
  }
}

function cantWrite(path: string, code: string): PolewardError {
  const says = code === 'EEXIST' ? `${path} exists already. Give another name, or --overwrite.`
    : code === 'ENOENT' || code === 'ENOTDIR' ? `The folder of ${path} does not exist. Make it first.`
      : code === 'EISDIR' ? `${path} is a folder. Give the name of a file.`
        : code === 'ENOSPC' || code === 'EDQUOT' ? `${path} can't be written: the disk is full. Make room, or give another place.`
          : `${path} can't be written (${code}). Give another place.`;
  return new PolewardError('bad-option', says);
}
