import { rmdirSync } from 'node:fs';
import { join } from 'node:path';
import { whenEnded } from './temporaries.js';
import { moveIntoPlace, removeTemporary, writeTemporary } from './wholeFile.js';

/** Files of one folder that appear together or not at all: they have temporary names until the last is written. */
export class FilesTogether {
  private readonly waiting: { readonly temporary: string; readonly path: string }[] = [];
  private readonly calmed: () => void;

  /** @param madeFolder the folder is new, and is removed again if the files fail */
  constructor(private readonly folder: string, private readonly overwrite: boolean, private readonly madeFolder: boolean) {
    this.calmed = whenEnded(() => { this.tidy(); });
  }

  /** Throws PolewardError `bad-option` if it can't be written. */
  add(name: string, content: Uint8Array | string): void {
    const path = join(this.folder, name);
    this.waiting.push({ temporary: writeTemporary(path, content), path });
  }

  /** Gives all files their final names, one directly after the other. */
  finish(): void {
    for (const { temporary, path } of this.waiting) moveIntoPlace(temporary, path, this.overwrite);
  }

  /** Removes all temporary files. To be called in any case. */
  tidy(): void {
    this.calmed();
    for (const { temporary } of this.waiting) removeTemporary(temporary);
    if (!this.madeFolder) return;
    try {
      rmdirSync(this.folder);
    } catch {
      // It holds the files, as it should.
    }
  }
}
