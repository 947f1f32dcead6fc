import { spawnSync } from 'node:child_process';
import {
  closeSync, copyFileSync, existsSync, ftruncateSync, mkdirSync, openSync, readFileSync, rmSync, symlinkSync, writeFileSync, writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { poleward, scratchFolder, strewnStars, writeNight } from './poleward.js';
import { fitsFile } from '../../src/simulate/fitsFile.js';
import { watching } from './watching.js';

const frames = writeNight(scratchFolder(), { rotationsDeg: [0, 40, 80, 120], altitudeErrorArcmin: 12, azimuthErrorArcmin: -20 }, []);

/** A folder for frames, and a way to save the night's frames in it. */
function cameraFolder(): { folder: string; path: (name: string) => string; save: (i: number, name?: string) => void } {
  const folder = scratchFolder();
  const path = (name: string): string => join(folder, name);
  return { folder, path, save: (i, name = `frame ${i + 1}.fits`) => copyFileSync(frames[i]!, path(name)) };
}

const looksIn = (folder: string): string[] => (JSON.parse(
  poleward('log', '--json', '--session', join(folder, 'poleward-session.jsonl')).out,
) as { looks: { file: string }[] }).looks.map(({ file }) => file);

const near = (out: { axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number } } }): void => {
  expect(out.axis.fromTruePole.altitudeArcmin).toBeCloseTo(12, 1);
  expect(out.axis.fromTruePole.azimuthArcmin).toBeCloseTo(-20, 1);
};

describe('a frame that is still being written', () => {
  test('into a file sized beforehand is one look, once it is whole', async () => {
    const { folder, path, save } = cameraFolder();
    const { status } = await watching(folder, [], async ({ messages, answers }) => {
      save(0);
      await messages(/frame 1\.fits: first frame/);
      const bytes = readFileSync(frames[1]!);
      const file = openSync(path('frame 2.fits'), 'w');
      ftruncateSync(file, bytes.length);
      const part = Math.floor(bytes.length * 0.4) + 1000;
      writeSync(file, bytes, 0, part, 0);
      await messages(/frame 2\.fits: incomplete, waiting/);
      writeSync(file, bytes, part, bytes.length - part, part);
      closeSync(file);
      near((await answers(1))[0]!);
    });
    expect(status).toBe(0);
    expect(looksIn(folder)).toEqual(['frame 1.fits', 'frame 2.fits']);
  });

  test('that looked whole replaces its look when it changes', async () => {
    const { folder, path, save } = cameraFolder();
    // Header and so the time of the second frame, picture of the third.
    const header = readFileSync(frames[1]!).subarray(0, 2880);
    const wrong = Buffer.concat([header, readFileSync(frames[2]!).subarray(2880)]);
    await watching(folder, [], async ({ messages, answers }) => {
      save(0);
      await messages(/frame 1\.fits: first frame/);
      writeFileSync(path('frame 2.fits'), wrong);
      await answers(1);
      save(1);
      await messages(/frame 2\.fits has changed since it was read: its look is replaced/);
      near((await answers(2))[1]!);
    });
    expect(looksIn(folder)).toEqual(['frame 1.fits', 'frame 2.fits']);
    // A restart understands the same.
    copyFileSync(frames[2]!, path('frame 3.fits'));
    const { out } = poleward('recheck', path('frame 3.fits'), '--json');
    near(JSON.parse(out) as Parameters<typeof near>[0]);
  });

  test('that stays broken delays no good one', async () => {
    const { folder, path, save } = cameraFolder();
    await watching(folder, [], async ({ messages, answers, trouble }) => {
      save(0);
      await messages(/frame 1\.fits: first frame/);
      for (let i = 0; i < 6; i++) writeFileSync(path(`broken ${i}.fits`), readFileSync(frames[0]!).subarray(0, 100_000 + i));
      save(1);
      await answers(1);
      // None of them is given up yet.
      await messages(/broken 5\.fits: incomplete, waiting/);
      for (let i = 0; i < 6; i++) await trouble(new RegExp(`broken ${i}\\.fits`));
    });
  });
});

describe('a folder', () => {
  test('that is deleted and made anew is watched again, and the night goes on', async () => {
    const { folder, save } = cameraFolder();
    const { err } = await watching(folder, [], async ({ messages, answers, trouble }) => {
      save(0);
      await messages(/frame 1\.fits: first frame/);
      rmSync(folder, { recursive: true });
      await trouble(/is gone. The watch goes on once it can be read/);
      mkdirSync(folder);
      await messages(/can be read again/);
      save(1);
      near((await answers(1))[0]!);
    });
    expect(err).not.toMatch(/Not recorded/);
    // What was lost with the folder is written again.
    expect(looksIn(folder)).toEqual(['frame 1.fits', 'frame 2.fits']);
  });

  test('with a pipe, links and a folder among its frames', { skip: process.platform === 'win32' }, async () => {
    const { folder, path, save } = cameraFolder();
    await watching(folder, [], async ({ messages, answers, trouble }) => {
      save(0);
      await messages(/frame 1\.fits: first frame/);
      expect(spawnSync('mkfifo', [path('pipe.fits')]).status).toBe(0);
      symlinkSync('pipe.fits', path('to a pipe.fits'));
      symlinkSync('circle.fits', path('circle.fits'));
      symlinkSync('/dev/zero', path('zero.fits'));
      symlinkSync('nowhere', path('nowhere.fits'));
      mkdirSync(path('folder.fits'));
      await trouble(/pipe\.fits is not a regular file but a named pipe/);
      await trouble(/circle\.fits is a link that leads in a circle/);
      await trouble(/zero\.fits is not a regular file but a device/);
      save(1);
      near((await answers(1))[0]!);
    });
  });
});

test('of many frames at once the newest are answered first, and a long search in a picture of no sky delays none', async () => {
  const folder = scratchFolder();
  const night = writeNight(folder, { rotationsDeg: Array.from({ length: 20 }, (_, i) => (i * 35) % 140), altitudeErrorArcmin: 12 }, []);
  writeFileSync(join(folder, 'no sky.fits'), fitsFile(strewnStars(700, 500, 20, 3), [['DATE-OBS', '2026-11-25T20:30:00'], ['EXPTIME', 2]]));
  const record = join(folder, 'poleward-session.jsonl');
  const looks = (): number => (existsSync(record) ? readFileSync(record, 'utf8').match(/"kind":"look"/g)?.length ?? 0 : 0);
  await watching(folder, ['--all'], async ({ answers, when }) => {
    const [first] = await answers(1);
    expect(Number(/\d+/.exec(first!.frames[0]!.file.replace(folder, ''))![0])).toBeGreaterThan(4);
    // The older ones come together, and the answer is still that of the newest.
    const all = await when(() => looks() === night.length);
    expect(all.at(-1)!.axis.fromTruePole.altitudeArcmin).toBeCloseTo(12, 1);
  });
});

test('a copy of a frame that was not recognised is not searched for stars again', async () => {
  const { folder, path, save } = cameraFolder();
  await watching(folder, [], async ({ answers, trouble }) => {
    save(0);
    save(1);
    await answers(1);
    const strewn = fitsFile(strewnStars(300, 200, 12, 3), [['DATE-OBS', '2026-11-25T20:30:00'], ['EXPTIME', 2]]);
    writeFileSync(path('no sky.fits'), strewn);
    await trouble(/no sky\.fits has \d+ stars, but none of them were recognised/);
    writeFileSync(path('copy.fits'), strewn);
    await trouble(/copy\.fits is the same picture as \S*.*no sky\.fits/);
  });
});
