import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync, chownSync, copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync, realpathSync, symlinkSync, writeFileSync,
} from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { MOST_FRAMES } from '../../src/tasks/recognise/spreadFrames.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeSite } from '../../src/sky/site.js';
import { wellFormed } from '../picture/markupTools.js';
import { type Ran, SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

interface Answer {
  readonly axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number }; sigma: { altitudeArcmin: number } };
  readonly frames: { file: string; used: boolean }[];
  readonly warnings: { code: string; message: string }[];
}

const ERROR = { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 };
const folder = scratchFolder();
const good = writeNight(folder, ERROR);
const later = writeNight(scratchFolder(), { ...ERROR, startUtc: new Date('2026-11-26T20:10:00Z') });
const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

const answer = (...words: string[]): Answer => {
  const ran = poleward('measure', ...words, '--json');
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Answer;
};
const right = ({ axis }: Answer): void => {
  expect(axis.fromTruePole.altitudeArcmin).toBeCloseTo(10, 1);
  expect(axis.fromTruePole.azimuthArcmin).toBeCloseTo(-12, 1);
};
/** The looks that a session keeps. */
const sessionLooks = (path: string): { look: { file: string }; frame: string }[] => readFileSync(path, 'utf8').trim().split('\n')
  .map((line) => JSON.parse(line) as { kind: string; look: { file: string }; frame: string }).filter(({ kind }) => kind === 'look');
/** The same answer in words, with the first thing to do first. */
const rightText = ({ out }: Ran): void => {
  expect(out).toMatch(/^azimuth first: move the axis 12\.0′ east/);
  expect(out.replace(/\s+/g, ' ')).toMatch(/off the refracted pole: 9\.(19|20|21)′ too high, (11\.9|12\.0)\d′ too far west/);
};
const skipped = ({ warnings }: Answer): string => warnings.filter((w) => w.code === 'frame-skipped').map((w) => w.message).join('\n');
const refused = (ran: Ran, says: RegExp): void => {
  expect(ran.status).toBe(1);
  expect(ran.err).toMatch(says);
  expect(ran.err).not.toMatch(/\n\s+at |node:|undefined|NaN|went wrong inside/);
};

/** Root may do everything, so the tests of permissions run the program as the system's nobody. */
const root = process.getuid?.() === 0;
const NOBODY = 65534;
function asNobody(home: string, ...words: string[]): Ran {
  const ran = spawnSync(process.execPath, [main, ...words], {
    encoding: 'utf8', timeout: 60_000, env: { PATH: process.env['PATH'], HOME: home }, ...(root ? { uid: NOBODY, gid: NOBODY } : {}),
  });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
}
function homeOfNobody(): string {
  const home = scratchFolder();
  if (root) chownSync(home, NOBODY, NOBODY);
  return home;
}

describe.skipIf(process.platform === 'win32')('permissions', () => {
  const locked = scratchFolder();
  const frames = good.map((_, i) => join(locked, `frame ${i + 1}.fits`));
  good.forEach((file, i) => { copyFileSync(file, frames[i]!); });
  chmodSync(locked, 0o555);
  afterAll(() => { chmodSync(locked, 0o755); });

  test('frames in a read-only folder are measured, and the session goes to the user\'s state folder', () => {
    const home = homeOfNobody();
    const ran = asNobody(home, 'measure', ...frames, ...SITE_WORDS);
    expect(ran.status, ran.err).toBe(0);
    rightText(ran);
    const [, told] = /folder of the frames can't be written, so the session is kept in (.*poleward-session\.jsonl)/.exec(ran.err.replace(/\s+/g, ' '))!;
    // It is where it says, below this user's home, and holds the frames: seen from there they are found again.
    const kept = readdirSync(home, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('poleward-session.jsonl'));
    expect(kept.map((name) => join(home, name))).toEqual([told]);
    const looks = sessionLooks(told!);
    expect(looks.map(({ frame }) => realpathSync(resolve(told!, '..', frame)))).toEqual(frames.map((file) => realpathSync(file)));
    expect(readdirSync(locked).filter((name) => !name.endsWith('.fits'))).toEqual([]);
  });

  test('where no place can be written the answer is given all the same', () => {
    const ran = asNobody(locked, 'measure', ...frames, ...SITE_WORDS);
    expect(ran.status, ran.err).toBe(0);
    rightText(ran);
    expect(ran.err.replace(/\s+/g, ' ')).toMatch(/no session can be kept\. Name a place, or go without \(--session FILE, --no-session\)\./);
  });

  test('files to be written there are refused', () => {
    refused(
      asNobody(homeOfNobody(), 'inspect', frames[0]!, '--wcs', join(locked, 'w.fits')),
      /w\.fits can't be written: the place is write-protected\. Give another/,
    );
    refused(
      asNobody(homeOfNobody(), 'measure', ...frames, '--no-session', '--picture', join(locked, 'p.svg')),
      /p\.svg can't be written: the place is write-protected/,
    );
    refused(
      asNobody(homeOfNobody(), 'simulate', '--out', join(locked, 'practice')),
      /^The folder .* can't be made \(the place is write-protected\)\. Give another to --out\.$/m,
    );
    expect(existsSync(join(locked, 'practice'))).toBe(false);
  });

  test('a frame that may not be read is named, and the others are measured', () => {
    const secret = join(scratchFolder(), 'secret.fits');
    copyFileSync(good[0]!, secret);
    for (const path of [secret, join(secret, '..'), ...good, folder]) chmodSync(path, path === secret ? 0o000 : 0o755);
    const ran = asNobody(homeOfNobody(), 'measure', ...good, secret, ...SITE_WORDS, '--no-session', '--json');
    expect(ran.status, ran.err).toBe(0);
    const out = JSON.parse(ran.out) as Answer;
    right(out);
    expect(skipped(out)).toMatch(/secret\.fits may not be read by this user\. Check its permissions\./);
    refused(asNobody(homeOfNobody(), 'inspect', secret), /may not be read by this user/);
  });
});

describe('a disk that is full', () => {
  test('costs the session, not the answer, and leaves no half files', ({ skip, onTestFinished }) => {
    const small = join(scratchFolder(), 'small disk');
    if (!mountSmall(small)) skip('this user may not mount a disk');
    onTestFinished(() => { execFileSync('umount', [small]); });
    const session = join(small, 'night.jsonl');
    const ran = poleward('measure', ...good, ...SITE_WORDS, '--session', session);
    expect(ran.status, ran.err).toBe(0);
    rightText(ran);
    expect(ran.err.replace(/\s+/g, ' ')).toMatch(/night\.jsonl can't be written: the disk is full/);
    refused(
      poleward('measure', ...good, '--picture', join(small, 'p.svg')),
      /p\.svg can't be written: the disk is full\. Make room, or give another place\./,
    );
    refused(poleward('inspect', good[0]!, '--wcs', join(small, 'w.fits')), /w\.fits can't be written: the disk is full/);
    refused(poleward('simulate', '--out', join(small, 'practice')), /the disk is full/);
    expect(readdirSync(small).filter(
      (name) => name !== 'filler' && !(name === 'night.jsonl' && readFileSync(join(small, name)).length === 0),
    )).toEqual([]);
  });
});

/** A disk of 64 kB in memory, filled up; false where this user may not mount one. */
function mountSmall(at: string): boolean {
  if (process.platform !== 'linux' || !root) return false;
  mkdirSync(at);
  if (spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=64k', 'tmpfs', at]).status !== 0) return false;
  try {
    writeFileSync(join(at, 'filler'), Buffer.alloc(1 << 20));
  } catch {
    // Full, as it should be.
  }
  return true;
}

describe('what frames are called and where', () => {
  test('spaces, umlauts, quotes and other scripts do no harm, session and picture included', () => {
    const odd = join(scratchFolder(), 'Äußere Säule — 北極 \'neu\'');
    mkdirSync(odd);
    const frames = good.map((file, i) => {
      const path = join(odd, `Bild für "Größe" ${i + 1} ☆.fits`.replaceAll('"', process.platform === 'win32' ? '_' : '"'));
      copyFileSync(file, path);
      return path;
    });
    const ran = poleward(
      'measure', ...frames, ...SITE_WORDS, '--session', join(odd, 'Nächte.jsonl'), '--picture', join(odd, 'Übersicht.svg'), '--json',
    );
    expect(ran.status, ran.err).toBe(0);
    const out = JSON.parse(ran.out) as Answer;
    right(out);
    expect(out.frames.map((f) => f.file)).toEqual(frames);
    // What was written down leads back to the frames, and is shown as they are called.
    const looks = sessionLooks(join(odd, 'Nächte.jsonl'));
    expect(looks.map(({ look, frame }) => [look.file, join(odd, frame)])).toEqual(frames.map((file) => [basename(file), file]));
    const log = poleward('log', '--session', join(odd, 'Nächte.jsonl'));
    expect(log.status, log.err).toBe(0);
    for (const file of frames) expect(log.out.replace(/\s+/g, ' ')).toContain(`${basename(file)}: 12.35′ off`);
    const sheet = wellFormed(readFileSync(join(odd, 'Übersicht.svg'), 'utf8'));
    expect(sheet.documentElement!.textContent!.replace(/\s+/g, ' ')).toContain(basename(frames[2]!).slice(0, 20));
  });

  test('a folder given among the frames is named, and the others are measured', () => {
    const out = answer(...good, folder, ...SITE_WORDS);
    right(out);
    expect(skipped(out)).toContain(`${folder} is a folder. Name the frames in it.`);
  });
});

describe('the same picture twice', () => {
  test('counts once: the answer and its error are those without it', () => {
    const copy = join(scratchFolder(), 'copy.fits');
    copyFileSync(good[1]!, copy);
    const link = join(scratchFolder(), 'link.fits');
    symlinkSync(good[2]!, link);
    const plain = answer(...good, ...SITE_WORDS);
    const out = answer(...good, good[0]!, copy, link, ...SITE_WORDS);
    expect(out.axis).toEqual(plain.axis);
    expect(skipped(out)).toContain(`${good[0]!} was given twice.`);
    expect(skipped(out)).toContain(`${copy} is the same picture as ${good[1]!}.`);
    expect(skipped(out)).toContain(`${link} is the same picture as ${good[2]!}.`);
  });

  test('and nothing else is refused', () => {
    refused(
      poleward('measure', good[0]!, good[0]!, ...SITE_WORDS),
      /Only one frame can be used.*was given twice\. It counts once; give other frames/s,
    );
  });
});

describe('frames of two cameras with pictures of one size', () => {
  const other = writeNight(
    scratchFolder(), { ...ERROR, focalLengthMillimetres: 190, startUtc: new Date('2026-11-25T20:05:00Z'), rollDeg: 70 },
  );
  const mirrored = writeNight(scratchFolder(), { ...ERROR, mirrored: true, startUtc: new Date('2026-11-25T20:08:00Z') });

  test('the one frame of another camera is named and left out', () => {
    const out = answer(...good, other[1]!, mirrored[1]!, ...SITE_WORDS);
    right(out);
    expect(out.frames.map((f) => f.used)).toEqual([true, true, true, false, false]);
    expect(skipped(out)).toMatch(/has 5\.\d+″ a pixel, the others 5\.\d+″: another camera or lens\. Use frames of one camera\./);
    expect(skipped(out)).toMatch(/is mirrored against the others: another camera/);
  });

  test('one of each is refused', () => {
    refused(
      poleward('measure', good[0]!, other[1]!, ...SITE_WORDS),
      /Only one frame can be used.*another camera or lens\. Use frames of one camera\./s,
    );
  });
});

describe('frames of two nights', () => {
  test('yesterday\'s among today\'s is named and left out', () => {
    const out = answer(good[0]!, ...later, ...SITE_WORDS);
    right(out);
    expect(out.frames.map((f) => f.used)).toEqual([false, true, true, true]);
    expect(skipped(out)).toMatch(
      /frame 1\.fits was taken 2026-11-25 20:00:\d\d UTC by its time, 24 h 10 min before .*Use frames of one night/,
    );
  });

  test('as many of each are refused, since nothing says which is meant', () => {
    refused(poleward('measure', good[0]!, later[1]!, ...SITE_WORDS), /No frame can be used\..*24 h \d+ min before.*24 h \d+ min after/s);
  });
});

test(`of more frames than ${MOST_FRAMES} that many are used, spread over all, and it is said`, () => {
  const many = scratchFolder();
  const site = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });
  const plan = {
    ...ordinaryNight(site, new Date('2026-11-25T18:00:00Z')), ...ERROR, intervalSeconds: 20, width: 320, height: 240,
    focalLengthMillimetres: 100, rotationsDeg: Array.from({ length: 106 }, (_, i) => i * 0.85),
  };
  const night = planNight(plan, embeddedCatalogue());
  const paths = plan.rotationsDeg.map((_, i) => {
    const path = join(many, `${String(i).padStart(4, '0')}.fits`);
    const { image, truth } = renderFrame(night, i);
    writeFileSync(path, fitsFile(image, frameCards(plan, truth.startUtc)));
    return path;
  });
  const out = answer(...paths, ...SITE_WORDS);
  right(out);
  expect(out.frames).toHaveLength(MOST_FRAMES);
  expect([out.frames[0]!.file, out.frames.at(-1)!.file]).toEqual([paths[0], paths.at(-1)]);
  expect(skipped(out)).toMatch(/Of the 106 frames given 100 were used, evenly spread/);
}, 120_000);
