/**
 * Knobs turned and looked at again, on the frames of testdata/skies/adjusting: three rotated frames, the altitude knob 11′ down,
 * the azimuth knob 25′ east. Every answer must be within 3″ of the truth, any number of rechecks in a row.
 */
import { copyFileSync, existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { skyFramePaths, skyTruth } from '../skies.js';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';
import { type Out, watching } from './watching.js';

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
function entries(session: string): { kind: string; knob?: string; turns?: number; followed?: boolean; expectedArcmin?: number | null }[] {
  return readFileSync(session, 'utf8').trim().split('\n').map((line) => JSON.parse(line) as { kind: string });
}
const kindsIn = (session: string): string[] => entries(session).map((e) => e.kind).filter((kind) => kind !== 'caution');
const codes = (out: Out): string[] => out.warnings.map((w) => w.code);
/** Without line breaks. */
const flat = (text: string): string => text.replace(/\s+/g, ' ');

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

  test('shows what each knob did, from one frame, any number of times, and records each frame once', () => {
    expectAt(run('measure', ...frames.slice(0, 3)), 18, -26);
    expectAt(run('recheck', frames[3]!), 7, -26);
    const first = run('recheck', frames[4]!);
    expectAt(first, 7, -1);
    expect(codes(first)).toEqual([]);
    for (let again = 0; again < 2; again++) {
      const out = run('recheck', frames[4]!);
      expect(out.axis).toEqual(first.axis);
      expect(codes(out)).toEqual(['known-look']);
    }
    // An older frame of the night is no news either: the answer is that of the night's last.
    const older = run('recheck', frames[3]!);
    expect(older.axis).toEqual(first.axis);
    expect(codes(older)).toEqual(['known-look']);
    expect(kindsIn(session)).toEqual(['start', 'look', 'look', 'look', 'answer', 'look', 'answer', 'look', 'answer']);
  });

  test('takes the site from the session if nothing else gives it', () => {
    const ran = poleward('recheck', frames[4]!, '--session', session, '--json');
    expect(ran.status, ran.err).toBe(0);
    expectAt(JSON.parse(ran.out) as Out, 7, -1);
  });

  test('of another camera\'s frame is refused, and leaves the session as it was', () => {
    const before = readFileSync(session, 'utf8');
    const ran = poleward('recheck', skyFramePaths('telescope-north')[0]!, ...WORDS, '--session', session);
    expect(ran.status).toBe(1);
    expect(flat(ran.err)).toMatch(
      /is 1000x750 pixels, the frames before it 800x600\. Use the same camera and binning, or begin a new night \(--new-session\)/,
    );
    expect(readFileSync(session, 'utf8')).toBe(before);
  });

  test('of a frame turned further makes the night surer: two alone carry a caveat, a third confirms them', () => {
    const other = join(scratchFolder(), 'two.jsonl');
    const two = poleward('measure', frames[0]!, frames[1]!, ...WORDS, '--session', other);
    expect(flat(two.out)).toContain('two turned frames only: a third would show a slip');
    const three = poleward('recheck', frames[2]!, ...WORDS, '--session', other);
    expect(three.status, three.err).toBe(0);
    expect(three.out).not.toContain('two turned frames only');
    expectAt(JSON.parse(poleward('recheck', frames[2]!, ...WORDS, '--session', other, '--json').out) as Out, 18, -26);
  });

  test('of a frame taken before the night\'s last takes its place in time, however far the mount was turned', () => {
    // Frame 1 against frames 2 and 3: 80° of turn that no drive made.
    const other = join(scratchFolder(), 'slewed.jsonl');
    expect(poleward('measure', frames[1]!, frames[2]!, ...WORDS, '--session', other).status).toBe(0);
    const out = JSON.parse(poleward('recheck', frames[0]!, ...WORDS, '--session', other, '--json').out) as Out;
    expectAt(out, 18, -26);
    expect(codes(out)).toEqual(['late-look']);
    expect(out.doubts).toEqual([]);
  });

  test('answers after a knob and a slew at once', () => {
    const folder = scratchFolder();
    const night = writeNight(folder, {
      altitudeErrorArcmin: 15, azimuthErrorArcmin: -24, rotationsDeg: [0, 35, 70, 25, -20],
      shifts: [{ beforeFrame: 3, altitudeArcmin: 0, azimuthArcmin: 23 }],
    });
    const words = [...SITE_WORDS, '--session', join(folder, 'night.jsonl'), '--json'];
    expect(poleward('measure', ...night.slice(0, 3), ...words).status).toBe(0);
    for (const frame of night.slice(3)) {
      const ran = poleward('recheck', frame, ...words);
      expect(ran.status, ran.err).toBe(0);
      const { axis } = JSON.parse(ran.out) as Out;
      expect(Math.abs(axis.fromTruePole.altitudeArcmin - 15) * 60).toBeLessThan(3);
      expect(Math.abs(axis.fromTruePole.azimuthArcmin - -1) * 60).toBeLessThan(4);
    }
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
});

describe('the limit', () => {
  const run = (session: string, ...words: string[]): ReturnType<typeof poleward> =>
    poleward('measure', ...frames.slice(0, 3), ...WORDS, '--session', join(scratchFolder(), session), ...words);

  test('that was asked for: outside it the exit code is 3, within it 0; both say so first', () => {
    const outside = run('a.jsonl', '--limit', '26');
    expect(outside.status, outside.err).toBe(3);
    expect(outside.out).toMatch(/^azimuth first: move the axis/);
    const within = run('b.jsonl', '--limit', '27');
    expect(within.status, within.err).toBe(0);
    expect(flat(within.out)).toMatch(
      /^good enough: 26\.26′ off the pole, limit 27′ \(--limit\) 26\.26′ ± 0\.1″ off the refracted pole: .* next: Lock the bolts, save one more frame/,
    );
    // No other line asks for a turn of a knob.
    expect(within.out).not.toMatch(/move the axis|Turn azimuth|clockwise/);
    // One frame more, taken after the bolts were locked: nothing moved.
    const session = join(scratchFolder(), 'e.jsonl');
    expect(poleward('measure', ...frames.slice(0, 2), ...WORDS, '--session', session).status).toBe(0);
    const locked = poleward('recheck', frames[2]!, ...WORDS, '--session', session, '--limit', '27');
    expect(locked.status, locked.err).toBe(0);
    expect(flat(locked.out)).toMatch(/^good enough: .* next: Nothing has moved since\. Start the run\./);
    expect(JSON.parse(run('c.jsonl', '--limit', '26', '--json').out)).toMatchObject({
      verdict: { withinLimit: false, limitArcmin: 26, limitFrom: '--limit' }, doubts: [],
      next: expect.stringMatching(/^Turn azimuth/) as string,
    });
  });

  test('that nobody asked for is one arcminute, and the exit code is 0 outside it too', () => {
    const ran = run('d.jsonl', '--json');
    expect(ran.status).toBe(0);
    expect(JSON.parse(ran.out)).toMatchObject({ verdict: { withinLimit: false, limitArcmin: 1 } });
  });
});

describe('with a rig file', () => {
  const folder = scratchFolder();
  const session = join(folder, 'night.jsonl');
  const rig = join(folder, 'rig.json');
  writeFileSync(rig, JSON.stringify({
    schema: 'poleward/rig-1', name: 'test rig',
    site: { latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres },
    knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'raise' } },
  }));
  const run = (command: string, ...words: string[]): ReturnType<typeof poleward> =>
    poleward(command, ...words, '--rig', rig, '--pressure', '930', '--temperature', '7', '--session', session);

  test('the turn comes first, then how far and how sure, what to do next, what was assumed; azimuth first, altitude ending upward', () => {
    const ran = run('measure', ...frames.slice(0, 3));
    expect(ran.status, ran.err).toBe(0);
    const text = flat(ran.out);
    // 26.0′ at 60′ a turn is 0.43; 16.9′ at 43.0′ a turn (ISO 261: M8 has 1.25 mm, on 100 mm) is 0.39.
    expect(text).toMatch(
      /^azimuth first: [^(]*\(0\.43\) clockwise, axis 26\.0′ east, right as you face the pole then altitude: .* back clockwise; axis 16\.9′ down/,
    );
    // One screen of 24 lines with the cautions, and a line for the air that was given.
    expect(ran.out.trimEnd().split('\n').length).toBeLessThanOrEqual(25);
    const parts = [
      'azimuth first', '26.26′ ± 0.1″ off the refracted pole: 16.90′ too high, 26.00′ too far west',
      'next: Turn azimuth, save a frame. poleward recheck', 'time 2026-11-25', 'site 39.200° N', 'air 930 hPa',
      'Hold the weight of the tube',
    ];
    expect(parts.map((part) => text.indexOf(part))).toEqual(parts.map((part) => text.indexOf(part)).sort((a, b) => a - b));
    for (const part of parts) expect(text).toContain(part);
    expect(Math.max(...ran.out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
    // Figures for the curious only where they are asked for.
    expect(text).not.toMatch(/from the true pole|turned westward|from the rig file:|stands 0\.39/);
    expect(flat(run('recheck', frames[2]!, '--full').out)).toMatch(
      /stands 0\.39 of a turn counter-clockwise .* altitude, from the rig file, screw .* from the true pole 26\.99′ .* turned westward identified frame .* rotation centre at pixel/,
    );
  });

  test('turns that the person reports are learned from; cautions are shown once', () => {
    const ran = run('recheck', frames[3]!, '--turned', 'altitude=-0.20');
    expect(ran.status, ran.err).toBe(0);
    // 11′ for 0.20 of a turn is 55′ a turn, not the rig file's 43′.
    const learned = Number(/altitude, from your last turn: (\d+) ± \d+′ a turn/.exec(flat(ran.out))?.[1]);
    expect(learned).toBeGreaterThan(46);
    expect(learned).toBeLessThan(60);
    expect(ran.out).not.toMatch(/Hold the weight of the tube/);
    expect(run('recheck', frames[3]!, '--cautions').out).toMatch(/Hold the weight of the tube/);
    const again =
      JSON.parse(run('recheck', frames[4]!, '--turned', 'azimuth=+0.4', '--json').out) as { knobs: { knob: string; turns: number }[] };
    expect(again.knobs[0]!.knob).toBe('azimuth');
    expect(again.knobs[0]!.turns).toBeLessThan(0.05);
    const log = flat(poleward('log', '--session', session).out);
    expect(log).toMatch(
      /turned altitude 0\.20 turn counter-clockwise .* altitude moved 11\.0\d′ down .* turned azimuth 0\.40 turn clockwise .* azimuth moved (25\.0|24\.9)\d′ east/,
    );
  });

  test('advice that was followed counts as a turn; past the goal and back counts as their difference', () => {
    const other = join(folder, 'followed.jsonl');
    // A rig with another name: what was learned from the turns before does not count for it.
    const another = join(folder, 'another.json');
    writeFileSync(another, readFileSync(rig, 'utf8').replace('test rig', 'another rig'));
    const on = (command: string, ...words: string[]): ReturnType<typeof poleward> =>
      poleward(command, ...words, '--rig', another, '--pressure', '930', '--temperature', '7', '--session', other);
    expect(on('measure', ...frames.slice(0, 3)).status).toBe(0);
    const ran = on('recheck', frames[4]!, '--followed');
    expect(ran.status, ran.err).toBe(0);
    const turns = entries(other).filter((e) => e.kind === 'turn');
    expect(turns.every((t) => t.followed)).toBe(true);
    const sum = (knob: string, key: 'turns' | 'expectedArcmin'): number =>
      turns.filter((t) => t.knob === knob).reduce((all, t) => all + t[key]!, 0);
    expect(sum('azimuth', 'turns')).toBeCloseTo(0.433, 2);
    expect(sum('azimuth', 'expectedArcmin')).toBeCloseTo(26, 1);
    expect(sum('altitude', 'turns')).toBeCloseTo(-0.393, 2);
    expect(sum('altitude', 'expectedArcmin')).toBeCloseTo(-16.9, 1);
    expect(flat(poleward('log', '--session', other).out)).toMatch(/altitude moved 11\.0\d′ down ± 0\.\d″, expected 16\.9′ down: 65 %/);
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
  test('finds the axis from turned frames, distinguishes knob and turn, goes on after bad frames, records a complete session', async () => {
    const folder = scratchFolder();
    const { status } = await watching(folder, WORDS, async ({ answers, trouble }) => {
      copyFileSync(frames[0]!, join(folder, 'a 1.fits'));
      // Renamed into place.
      copyFileSync(frames[1]!, join(folder, 'part.tmp'));
      renameSync(join(folder, 'part.tmp'), join(folder, 'a 2.fits'));
      const first = (await answers(1))[0]!;
      expect(first.taken).toBe('turned');
      expectAt(first, 18, -26);
      // Written piecemeal.
      const bytes = readFileSync(frames[2]!);
      writeFileSync(join(folder, 'a 3.fits'), bytes.subarray(0, 300_000));
      writeFileSync(join(folder, 'a 3.fits'), bytes.subarray(300_000), { flag: 'a' });
      expect((await answers(2))[1]).toMatchObject({ taken: 'turned' });
      writeFileSync(join(folder, 'broken.png'), 'no picture');
      await trouble(/broken\.png/);
      copyFileSync(frames[3]!, join(folder, 'a 4.fits'));
      const adjusted = (await answers(3))[2]!;
      expect(adjusted.taken).toBe('knob');
      expectAt(adjusted, 7, -26);
      copyFileSync(frames[4]!, join(folder, 'a 5.fits'));
      const last = (await answers(4))[3]!;
      expect([last.taken, last.doubts]).toEqual(['knob', []]);
      expectAt(last, 7, -1);
    });
    expect(status).toBe(0);
    expect(kindsIn(join(folder, 'poleward-session.jsonl'))).toEqual([
      'start', 'look', 'look', 'answer', 'look', 'answer', 'look', 'answer', 'look', 'answer',
    ]);
  });

  test('keeps apart what does not belong: another camera, a copy, another night', async () => {
    const folder = scratchFolder();
    const [strange, stranger] = skyFramePaths('telescope-north');
    const { status } = await watching(folder, [...WORDS, '--no-session'], async ({ answers, trouble, messages }) => {
      copyFileSync(strange!, join(folder, '1.fits'));
      await messages(/1\.fits: first frame of the night/);
      copyFileSync(frames[0]!, join(folder, '2.fits'));
      await trouble(/2\.fits is 800x600 pixels, the frames before it 1000x750\. .* A new night begins with it\./);
      await messages(/2\.fits: first frame of the night/);
      copyFileSync(frames[0]!, join(folder, 'copy.fits'));
      await trouble(/copy\.fits is the same picture as.*2\.fits/);
      copyFileSync(frames[2]!, join(folder, '3.fits'));
      expectAt((await answers(1))[0]!, 18, -26);
      copyFileSync(stranger!, join(folder, 'strange.fits'));
      await trouble(/strange\.fits is 1000x750 pixels, the frames before it 800x600/);
      writeFileSync(join(folder, 'night before.fits'), aDayEarlier(readFileSync(frames[3]!)));
      await trouble(/\d\d h .*before the frames of this night/);
      copyFileSync(frames[3]!, join(folder, '4.fits'));
      expectAt((await answers(2))[1]!, 7, -26);
    });
    expect(status).toBe(0);
    expect(existsSync(join(folder, 'poleward-session.jsonl'))).toBe(false);
  });

  test('finds new frames by polling, as on a network share', async () => {
    const folder = scratchFolder();
    const { status } = await watching(folder, [...WORDS, '--poll', '--no-session'], async ({ answers }) => {
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
