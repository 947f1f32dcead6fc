/**
 * Knobs turned and looked at again, on the frames of testdata/skies/adjusting: three rotated frames, the altitude knob 11′ down,
 * the azimuth knob 25′ east. Issue: within 3″ of the truth, any number of rechecks in a row.
 */
import { spawn } from 'node:child_process';
import { copyFileSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { skyFramePaths, skyTruth } from '../skies.js';
import { poleward, scratchFolder } from './poleward.js';

interface Out {
  axis: { fromTruePole: { altitudeArcmin: number; azimuthArcmin: number }; sigma: { altitudeArcmin: number; azimuthArcmin: number } };
  warnings: { code: string; message: string }[];
  taken?: string;
}

const frames = skyFramePaths('adjusting');
const { site } = skyTruth('adjusting');
const WORDS = ['--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`,
  '--pressure', `${site.pressureHectopascal}`, '--temperature', `${site.temperatureCelsius}`];

/** Errors against the true pole, arcminutes, must be as given to 3″; azimuth counts on the sky. */
function expectAt(out: Out, altitude: number, azimuth: number): void {
  expect(Math.abs(out.axis.fromTruePole.altitudeArcmin - altitude) * 60).toBeLessThan(3);
  expect(Math.abs(out.axis.fromTruePole.azimuthArcmin - azimuth) * 60 * Math.cos(39.2 * Math.PI / 180)).toBeLessThan(3);
}

/** The entries of a session file. */
function entries(session: string): { kind: string; how?: string; knob?: string; followed?: boolean }[] {
  return readFileSync(session, 'utf8').trim().split('\n').map((line) => JSON.parse(line) as { kind: string });
}

/** The frame with its date put back by a day. */
function aDayEarlier(frame: Buffer): Buffer {
  const at = frame.indexOf('DATE-OBS=');
  const card = frame.toString('latin1', at, at + 80);
  const [date] = /\d{4}-\d\d-\d\d/.exec(card)!;
  frame.write(card.replace(date, new Date(Date.parse(date) - 86_400_000).toISOString().slice(0, 10)), at, 'latin1');
  return frame;
}

describe('recheck', () => {
  const session = join(scratchFolder(), 'night.jsonl');
  const run = (command: string, ...words: string[]): Out => {
    const ran = poleward(command, ...words, ...WORDS, '--session', session, '--json');
    expect(ran.status, ran.err).toBe(0);
    return JSON.parse(ran.out) as Out;
  };

  test('shows what each knob did, from one frame, any number of times', () => {
    expectAt(run('measure', ...frames.slice(0, 3)), 18, -26);
    expectAt(run('recheck', frames[3]!), 7, -26);
    for (let again = 0; again < 3; again++) expectAt(run('recheck', frames[4]!), 7, -1);
    expectAt(run('recheck', frames[3]!), 7, -26);
    expect(entries(session).filter((e) => e.kind === 'measurement').map((e) => e.how)).toEqual(['rotation', 'recheck', 'recheck', 'recheck', 'recheck', 'recheck']);
  });

  test('takes the site from the session if nothing else gives it', () => {
    const ran = poleward('recheck', frames[4]!, '--session', session, '--json');
    expect(ran.status, ran.err).toBe(0);
    expectAt(JSON.parse(ran.out) as Out, 7, -1);
  });

  test('of another camera\'s frame is refused', () => {
    const ran = poleward('recheck', skyFramePaths('telescope-north')[0]!, '--session', session);
    expect(ran.status).toBe(1);
    expect(ran.err.replace(/\s+/g, ' ')).toMatch(/is 1000x750 pixels, the measurement's frames 800x600\. Use the same camera and binning, or measure anew/);
  });

  test('of frames with rotation between them is a new measurement', () => {
    const out = run('recheck', frames[0]!, frames[2]!);
    expectAt(out, 18, -26);
    expect(entries(session).at(-1)?.how).toBe('rotation');
  });

  test('says that the mount was slewed, and asks for a new measurement', () => {
    // Frame 1 against a measurement of frames 2 and 3: 80° of turn that no drive made.
    const other = join(scratchFolder(), 'slewed.jsonl');
    expect(poleward('measure', frames[1]!, frames[2]!, ...WORDS, '--session', other).status).toBe(0);
    const ran = poleward('recheck', frames[0]!, ...WORDS, '--session', other, '--json');
    expect((JSON.parse(ran.out) as Out).warnings.map((w) => w.code)).toContain('slewed');
    expect(poleward('recheck', frames[0]!, ...WORDS, '--session', other).err.replace(/\s+/g, ' ')).toMatch(/Measure anew/);
  });

  test('without a measurement before, or with the session of another night, is refused in words', () => {
    const none = poleward('recheck', frames[3]!, ...WORDS, '--session', join(scratchFolder(), 'none.jsonl'));
    expect(none.status).toBe(1);
    expect(none.err).toMatch(/There is no session/);
    const old = join(scratchFolder(), 'old.jsonl');
    writeFileSync(old, readFileSync(session, 'utf8').replaceAll('2026-11-25T19', '2026-11-22T19'));
    const ran = poleward('recheck', frames[3]!, ...WORDS, '--session', old);
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/another night[\s\S]*--new-session/);
  });

  test('of frames of another size is refused', () => {
    const ran = poleward('recheck', skyFramePaths('telescope-north')[0]!, ...WORDS, '--session', session);
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/1000x750 pixels, the measurement's frames 800x600/);
  });
});

describe('with a rig file', () => {
  const folder = scratchFolder();
  const session = join(folder, 'night.jsonl');
  const rig = join(folder, 'rig.json');
  writeFileSync(rig, JSON.stringify({
    schema: 'poleward/rig-1', name: 'test rig', site: { latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres },
    knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'raise' } },
  }));
  const run = (command: string, ...words: string[]): ReturnType<typeof poleward> =>
    poleward(command, ...words, '--rig', rig, '--pressure', '930', '--temperature', '7', '--session', session);

  test('the turn comes first, then the error; azimuth before altitude, altitude ending upward', () => {
    const ran = run('measure', ...frames.slice(0, 3));
    expect(ran.status, ran.err).toBe(0);
    const text = ran.out.replace(/\s+/g, ' ');
    // 26.0′ at 60′ a turn is 0.43; 16.9′ at 43.0′ a turn (ISO 261: M8 has 1.25 mm, on 100 mm) is 0.39.
    expect(text).toMatch(/^azimuth: [^(]*\(0\.43\) clockwise, axis 26\.0′ east, right as you face the pole altitude: .* back clockwise; axis 16\.9′ down/);
    expect(text).toMatch(/stands 0\.39 of a turn counter-clockwise/);
    expect(text).toMatch(/azimuth: 26\.00′ too far west/);
    expect(Math.max(...ran.out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
    expect(text).toMatch(/Hold the tube's weight/);
  });

  test('turns that are told are learned from, cautions are shown once', () => {
    const ran = run('recheck', frames[3]!, '--turned', 'altitude=-0.20');
    expect(ran.status, ran.err).toBe(0);
    // 11′ for 0.20 of a turn is 55′ a turn, not the rig file's 43′.
    const learned = Number(/altitude, from your last turn: (\d+) ± \d+′ a turn/.exec(ran.out.replace(/\s+/g, ' '))?.[1]);
    expect(learned).toBeGreaterThan(46);
    expect(learned).toBeLessThan(60);
    expect(ran.out).not.toMatch(/Hold the tube's weight/);
    expect(run('recheck', frames[3]!, '--cautions').out).toMatch(/Hold the tube's weight/);
    const again = JSON.parse(run('recheck', frames[4]!, '--turned', 'azimuth=+0.4', '--json').out) as { knobs: { knob: string; turns: number }[] };
    expect(again.knobs[0]!.knob).toBe('azimuth');
    expect(again.knobs[0]!.turns).toBeLessThan(0.05);
    const log = poleward('log', '--session', session).out.replace(/\s+/g, ' ');
    expect(log).toMatch(/turned altitude 0\.20 turn counter-clockwise .* altitude moved 11\.0\d′ down .* turned azimuth 0\.40 turn clockwise .* azimuth moved 25\.0\d′ east/);
  });

  test('advice that was followed is a turn too', () => {
    expect(run('measure', ...frames.slice(0, 3)).status).toBe(0);
    const ran = run('recheck', frames[4]!, '--followed');
    expect(ran.status, ran.err).toBe(0);
    const turns = entries(session).filter((e) => e.kind === 'turn' && e.followed);
    expect(turns.map((t) => t.knob)).toEqual(['azimuth', 'altitude', 'altitude']);
  });

  test('that is broken names line, field and what was expected', () => {
    const broken = join(folder, 'broken.json');
    writeFileSync(broken, '{\n  "site": { "latitudeDeg": 95, "longitudeDeg": 3 }\n}\n');
    const ran = poleward('measure', ...frames.slice(0, 3), '--rig', broken);
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/line 2/);
    expect(ran.err).toMatch(/latitudeDeg/);
  });
});

describe('watch', () => {
  const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

  /** Runs a watch, calls `act` with a function that waits for the n-th answer, ends it as Ctrl-C does. */
  async function watching(folder: string, words: string[], act: (answers: (count: number) => Promise<Out[]>, trouble: (text: RegExp) => Promise<void>, messages: (text: RegExp) => Promise<void>) => Promise<void>): Promise<number | null> {
    const child = spawn(process.execPath, [main, 'watch', folder, ...WORDS, '--json', ...words]);
    let out = '', err = '';
    let notice = (): void => {};
    child.stdout.setEncoding('utf8').on('data', (text: string) => { out += text; notice(); });
    child.stderr.setEncoding('utf8').on('data', (text: string) => { err += text; notice(); });
    const until = async <T>(found: () => T | null): Promise<T> => {
      for (;;) {
        const value = found();
        if (value !== null) return value;
        await new Promise<void>((resolve) => { notice = resolve; });
      }
    };
    const parsed = (): Out[] => out.split('\n').filter((line) => line.startsWith('{"schema":"poleward/measurement-1"')).map((line) => JSON.parse(line) as Out);
    const said = (): string => out.split('\n').filter((line) => line.startsWith('{"schema":"poleward/watch-1"'))
      .map((line) => (JSON.parse(line) as { message: string }).message.replace(/\s+/g, ' ')).join('\n');
    const ended = new Promise<number | null>((resolve) => { child.on('exit', resolve); });
    await until(() => (out.includes('ready') ? true : null));
    await act(
      (count) => until(() => (parsed().length >= count ? parsed() : null)),
      (text) => until(() => (text.test(err) ? true : null)).then(() => undefined),
      (text) => until(() => (text.test(said()) ? true : null)).then(() => undefined),
    );
    child.kill('SIGINT');
    return ended;
  }

  test('grows the measurement with rotated frames, rechecks adjusted ones, outlives bad ones, and leaves a whole session', async () => {
    const folder = scratchFolder();
    const status = await watching(folder, [], async (answers, trouble) => {
      copyFileSync(frames[0]!, join(folder, 'a 1.fits'));
      // Renamed into place.
      copyFileSync(frames[1]!, join(folder, 'part.tmp'));
      renameSync(join(folder, 'part.tmp'), join(folder, 'a 2.fits'));
      expectAt((await answers(1))[0]!, 18, -26);
      // Written piecemeal.
      const bytes = readFileSync(frames[2]!);
      writeFileSync(join(folder, 'a 3.fits'), bytes.subarray(0, 300_000));
      writeFileSync(join(folder, 'a 3.fits'), bytes.subarray(300_000), { flag: 'a' });
      expect((await answers(2))[1]).toMatchObject({ taken: 'rotated' });
      writeFileSync(join(folder, 'broken.png'), 'no picture');
      await trouble(/broken\.png/);
      copyFileSync(frames[3]!, join(folder, 'a 4.fits'));
      const adjusted = (await answers(3))[2]!;
      expect(adjusted.taken).toBe('adjusted');
      expectAt(adjusted, 7, -26);
      copyFileSync(frames[4]!, join(folder, 'a 5.fits'));
      expectAt((await answers(4))[3]!, 7, -1);
    });
    expect(status).toBe(0);
    const lines = entries(join(folder, 'poleward-session.jsonl'));
    expect(lines.filter((l) => l.kind !== 'caution').map((l) => l.how ?? l.kind)).toEqual(['start', 'rotation', 'rotation', 'recheck', 'recheck']);
  });

  test('keeps apart what does not belong: another camera, a copy, another night', async () => {
    const folder = scratchFolder();
    const [strange, stranger] = skyFramePaths('telescope-north');
    const status = await watching(folder, ['--no-session'], async (answers, trouble, messages) => {
      copyFileSync(strange!, join(folder, '1.fits'));
      await messages(/1\.fits: taken as the first/);
      copyFileSync(frames[0]!, join(folder, '2.fits'));
      await messages(/2\.fits: of another camera, binning or night/);
      copyFileSync(frames[0]!, join(folder, 'copy.fits'));
      await trouble(/copy\.fits\s+is\s+the\s+same\s+picture\s+as.*2\.fits/s);
      copyFileSync(frames[2]!, join(folder, '3.fits'));
      expectAt((await answers(1))[0]!, 18, -26);
      copyFileSync(stranger!, join(folder, 'strange.fits'));
      await trouble(/strange\.fits\s+is\s+1000x750\s+pixels,\s+the\s+measurement's\s+frames\s+800x600/);
      writeFileSync(join(folder, 'night before.fits'), aDayEarlier(readFileSync(frames[3]!)));
      await trouble(/\d\d\s+h\s.*before\s+the\s+measurement/s);
      copyFileSync(frames[3]!, join(folder, '4.fits'));
      expectAt((await answers(2))[1]!, 7, -26);
    });
    expect(status).toBe(0);
  });

  test('sees frames on a share that only polls', async () => {
    const folder = scratchFolder();
    const status = await watching(folder, ['--poll', '--no-session'], async (answers) => {
      copyFileSync(frames[0]!, join(folder, '1.fits'));
      copyFileSync(frames[2]!, join(folder, '2.fits'));
      expectAt((await answers(1))[0]!, 18, -26);
    });
    expect(status).toBe(0);
  });

  test('of a folder that is not there says so', () => {
    const ran = poleward('watch', join(scratchFolder(), 'nowhere'));
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/There is no folder/);
  });
});
