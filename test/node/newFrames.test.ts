import { chmodSync, utimesSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { type FolderTrouble, NewFrames } from '../../src/node/newFrames.js';
import { scratchFolder } from '../cli/poleward.js';

const HOUR = 3600;

/** A watched folder; `given` waits for the next files that have settled. */
async function watched() {
  const folder = scratchFolder();
  const troubles: (FolderTrouble | null)[] = [];
  const frames = new NewFrames(folder, false, (trouble) => { troubles.push(trouble); });
  await frames.start(false);
  const save = (name: string, clockAheadSeconds = 0): void => {
    writeFileSync(join(folder, name), name);
    const time = Date.now() / 1000 + clockAheadSeconds;
    if (clockAheadSeconds !== 0) utimesSync(join(folder, name), time, time);
  };
  const given = async (): Promise<string[]> => {
    for (;;) {
      const files = (await frames.next(60_000))!;
      if (files.length > 0) return files.map(({ path }) => basename(path));
    }
  };
  return { folder, frames, troubles, save, given };
}

describe('a folder that is watched', () => {
  test.each([['back', -HOUR], ['forward', 10 * HOUR]])('goes on where the clock is set %s meanwhile', async (_, seconds) => {
    const { frames, save, given } = await watched();
    save('before.fits');
    expect(await given()).toEqual(['before.fits']);
    save('after.fits', seconds);
    expect(await given()).toEqual(['after.fits']);
    save('then.fits', seconds + 1);
    expect(await given()).toEqual(['then.fits']);
    // The same name again, and older by the clock than what it replaces.
    save('before.fits', seconds - 1);
    expect(await given()).toEqual(['before.fits']);
    frames.stop();
  });

  test('gives each of many files once', async () => {
    const { frames, save, given } = await watched();
    const names = Array.from({ length: 120 }, (_, i) => `frame ${i}.fits`);
    names.forEach((name) => save(name));
    const got: string[] = [];
    while (got.length < names.length) got.push(...await given());
    expect(got.sort()).toEqual(names.sort());
    frames.stop();
  });

  test('gives all files that it finds at once together', async () => {
    const folder = scratchFolder();
    // So many that finding them takes longer than one of them needs to settle.
    const names = Array.from({ length: 3000 }, (_, i) => `frame ${i}.fits`);
    for (const name of names) writeFileSync(join(folder, name), name);
    const frames = new NewFrames(folder, true, () => {});
    await frames.start(true);
    expect(await frames.next(60_000)).toHaveLength(names.length);
    frames.stop();
  });

  // Root may read everything.
  test.skipIf(process.platform === 'win32' || process.getuid?.() === 0)('says when it may not be read, then goes on', async () => {
    const { folder, frames, troubles, save, given } = await watched();
    chmodSync(folder, 0);
    while (troubles.length < 1) await frames.next(100);
    expect(troubles).toEqual(['not permitted']);
    chmodSync(folder, 0o700);
    save('frame.fits');
    expect(await given()).toEqual(['frame.fits']);
    expect(troubles).toEqual(['not permitted', null]);
    frames.stop();
  });
});
