import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import type { FrameMarks } from '../../src/picture/frameMarks.js';
import { wellFormed } from '../picture/markupTools.js';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

const folder = scratchFolder();
/** Three rotated frames, then both knobs turned by what takes the axis to the true pole; the mount tracks. Invented. */
const frames = writeNight(folder, {
  altitudeErrorArcmin: 15, azimuthErrorArcmin: -24, rotationsDeg: [0, 35, 70, 70], intervalSeconds: 20, tracking: true,
  shifts: [{ beforeFrame: 3, altitudeArcmin: -15, azimuthArcmin: 24 }],
});
const session = join(folder, 'night.jsonl');
const run = (command: string, ...words: string[]): ReturnType<typeof poleward> =>
  poleward(command, ...words, ...SITE_WORDS, '--aim', 'true', '--session', session);
const marksNow = (of = session): FrameMarks =>
  (JSON.parse(readFileSync(of, 'utf8').trim().split('\n').at(-1)!) as { picture: { marks: FrameMarks } }).picture.marks;
const at = (place: NonNullable<FrameMarks['star']>['now']): readonly [number, number] => {
  if (!('at' in place)) throw new Error('outside the frame');
  return place.at;
};

describe('measure --picture', () => {
  test('tells where a star must go, and the next frame of the moved mount has it there within a pixel', () => {
    expect(run('measure', ...frames.slice(0, 3), '--picture', join(folder, 'before.svg')).status).toBe(0);
    const before = marksNow();
    const goal = at(before.star!.goal);
    expect(Math.hypot(goal[0] - at(before.star!.now)[0], goal[1] - at(before.star!.now)[1])).toBeGreaterThan(100);
    const ran = run(
      'recheck', frames[3]!, '--picture', join(folder, 'after.svg'), '--picture-star', goal.map((v) => v.toFixed(1)).join(','),
    );
    expect(ran.status, ran.err).toBe(0);
    const after = marksNow();
    expect(after.star!.name).toBe(before.star!.name);
    const now = at(after.star!.now);
    expect(Math.hypot(now[0] - goal[0], now[1] - goal[1])).toBeLessThan(1);
    // Nothing is left to do: the star is where it must be.
    expect(Math.hypot(at(after.star!.goal)[0] - now[0], at(after.star!.goal)[1] - now[1])).toBeLessThan(1);
    expect(after.separationArcmin).toBeLessThan(0.1);
  });

  test('is SVG that an outside parser reads, holding the frame itself and no other reference', () => {
    const text = readFileSync(join(folder, 'before.svg'), 'utf8');
    const document = wellFormed(text);
    const images = Array.from(document.getElementsByTagName('image'));
    expect(images).toHaveLength(1);
    expect(images[0]!.getAttribute('href')).toMatch(/^data:image\/jpeg;base64,/);
    expect(text.replace('http://www.w3.org/2000/svg', '')).not.toMatch(/https?:/);
    // Two dials and the frame, each with words for those who can't see it.
    expect(Array.from(document.getElementsByTagName('svg')).filter(
      (s) => s.getAttribute('role') === 'img' && (s.getAttribute('aria-label') ?? '').length > 10,
    )).toHaveLength(3);
  });

  test('is PNG where the name says so, dim red for the night', async () => {
    const path = join(folder, 'red.png');
    expect(run('recheck', frames[3]!, '--picture', path, '--night').status).toBe(0);
    const bytes = readFileSync(path);
    const { channels } = await sharp(bytes).stats();
    const { width, height } = await sharp(bytes).metadata();
    expect(width).toBeGreaterThan(1000);
    expect(height).toBeGreaterThan(700);
    // Not a pixel with more green or blue than the red inks have; the frame itself has none.
    expect(channels[0]!.max).toBeGreaterThan(200);
    expect(Math.max(channels[1]!.max, channels[2]!.max)).toBeLessThan(95);
    expect(Math.max(channels[1]!.mean, channels[2]!.mean)).toBeLessThan(2);
  });

  test('takes a star by its name, also one that the frame does not show', () => {
    const other = join(folder, 'other.jsonl');
    const ran = poleward('measure', ...frames.slice(0, 3), ...SITE_WORDS, '--session', other,
      '--picture', join(folder, 'kochab.svg'), '--picture-star', 'Kochab');
    expect(ran.status, ran.err).toBe(0);
    expect(marksNow(other).star).toMatchObject({ name: 'Kochab', seen: false });
    expect('edge' in marksNow(other).star!.now).toBe(true);
    expect(readFileSync(join(folder, 'kochab.svg'), 'utf8')).toMatch(/Kochab leaves the frame/);
  });

  test('refuses in words what it can\'t draw, before anything is recorded or written', () => {
    const lines = readFileSync(session, 'utf8');
    const refused = (...words: string[]): string => {
      const ran = run('recheck', frames[3]!, ...words);
      expect(ran.status).toBe(1);
      return ran.err;
    };
    expect(refused('--picture', join(folder, 'x.gif'))).toMatch(/\.svg or \.png/);
    expect(refused('--picture', join(folder, 'before.svg'))).toMatch(/exists already/);
    expect(refused('--picture', join(folder, 'no', 'x.svg'))).toMatch(/does not exist/);
    expect(refused('--picture', join(folder, 'x.svg'), '--picture-star', 'Beteigeuze')).toMatch(/No star called/);
    expect(refused('--picture', join(folder, 'x.svg'), '--picture-star', '-50,3')).toMatch(/No star called/);
    expect(refused('--picture', join(folder, 'x.svg'), '--picture-star', '5000,3')).toMatch(/No recognised star/);
    expect(refused('--picture-star', 'Polaris')).toMatch(/Add --picture/);
    const picture = join(folder, 'frame.png');
    writeFileSync(picture, readFileSync(join(folder, 'red.png')));
    expect(poleward('recheck', picture, '--picture', picture, '--overwrite', '--session', session).err).toMatch(/would replace a frame/);
    expect(readFileSync(session, 'utf8')).toBe(lines);
    expect(existsSync(join(folder, 'x.svg'))).toBe(false);
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  test('a rerun replaces its own picture, SVG or PNG, and no other', () => {
    const again = (path: string) => poleward('measure', ...frames.slice(0, 3), ...SITE_WORDS, '--picture', path);
    for (const name of ['again.svg', 'again.png']) {
      const path = join(folder, name);
      expect(again(path).status).toBe(0);
      const before = readFileSync(path);
      const ran = again(path);
      expect(ran.status, ran.err).toBe(0);
      expect(readFileSync(path).equals(before)).toBe(true);
      if (name.endsWith('png')) continue;
      writeFileSync(path, 'precious');
      expect(again(path).err).toMatch(/exists already/);
      expect(readFileSync(path, 'utf8')).toBe('precious');
    }
  });

  test('replaces an old picture when told to', () => {
    expect(run('recheck', frames[3]!, '--picture', join(folder, 'before.svg'), '--overwrite').status).toBe(0);
    expect(readFileSync(join(folder, 'before.svg'), 'utf8')).toMatch(/frame 4\.fits/);
  });
});
