import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { readFrame } from '../../src/node/readFrame.js';
import { type Ran, SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

/** What is used and what is said where two sources disagree about the clock: all pairs of command line, rig file, header, session. */

const good = writeNight(scratchFolder(), { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 });
const starts = good.map((file) => /DATE-OBS= '(.*?)'/.exec(readFileSync(file).toString('latin1', 0, 2880))![1]!);
/** The same as pictures whose clock is an hour ahead of UTC: without a zone, and with that zone. */
const unzoned: string[] = [];
const zoned: string[] = [];

/** The place of {@link SITE_WORDS} as a phone or a camera with a receiver writes it. */
const GPS = {
  GPSLatitudeRef: 'N', GPSLatitude: '46/1 30/1 0/1', GPSLongitudeRef: 'E', GPSLongitude: '11/1 12/1 0/1',
};

beforeAll(async () => {
  const folder = scratchFolder();
  for (const [i, file] of good.entries()) {
    const { image } = await readFrame(file);
    const shown = new Date(Date.parse(`${starts[i]!}Z`) + 3_600_000).toISOString();
    const clock = { DateTimeOriginal: `${shown.slice(0, 10).replaceAll('-', ':')} ${shown.slice(11, 19)}`, ExposureTime: '4/1' };
    for (const [list, zone] of [[unzoned, {}], [zoned, { OffsetTimeOriginal: '+01:00' }]] as const) {
      const path = join(folder, `${list === zoned ? 'zoned' : 'plain'} ${i + 1}.png`);
      const raw = { width: image.width, height: image.height, channels: 1 } as const;
      const picture = sharp(Uint16Array.from(image.data), { raw }).toColourspace('grey16');
      await picture.withExif({ IFD2: { ...clock, ...zone }, ...(list === zoned ? { IFD3: GPS } : {}) }).png().toFile(path);
      list.push(path);
    }
  }
}, 60_000);

interface Answer { readonly frames: { utc: string }[]; readonly warnings: { code: string; message: string }[] }
const json = (ran: Ran): Answer => {
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Answer;
};
const measure = (...words: string[]): Ran => poleward('measure', ...words, ...SITE_WORDS);
const first = (answer: Answer): string => answer.frames[0]!.utc.slice(11, 16);
const said = (answer: Answer): string => answer.warnings.filter((w) => w.code === 'clock-suspect').map((w) => w.message).join('\n');
/** The line that says which time was used, from what. */
const line = ({ out }: Ran): string => /time \d{4}-[^]*?\)/.exec(out)?.[0].replace(/\s+/g, ' ') ?? '';
function rigWith(clock: object): string[] {
  const path = join(scratchFolder(), 'rig.json');
  writeFileSync(path, JSON.stringify({ clock }));
  return ['--rig', path];
}

describe('two sources of the clock that differ', () => {
  const frames = { fits: () => good, zoned: () => zoned, unzoned: () => unzoned };
  // In truth the first exposure is 20:00 UTC.
  const table: readonly [pair: string, of: keyof typeof frames, words: () => string[], utc: string, says: RegExp | null][] = [
    ['command line and rig file: the command line counts', 'unzoned', () => ['--utc-offset', '+1', ...rigWith({ utcOffset: '+02:00' })],
      '20:00', null],
    ['command line by name and rig file by offset', 'unzoned', () => ['--zone', 'Europe/Rome', ...rigWith({ utcOffset: '+02:00' })],
      '20:00', null],
    ['command line and header: the zone given counts, and what the header\'s would make of it is said', 'zoned',
      () => ['--utc-offset', '+2'], '19:00',
      /on UTC \+01:00 \(EXIF OffsetTimeOriginal\); the zone given, \+02:00, counts\. With its own the time would be 1 h later.* by 15°/],
    ['rig file and header: likewise', 'zoned', () => rigWith({ zone: 'Africa/Abidjan' }), '21:00',
      /\+01:00 \(EXIF OffsetTimeOriginal\); the zone given, \+00:00, counts\. With its own the time would be 1 h earlier/],
    ['rig file and a header that says the same', 'zoned', () => rigWith({ zone: 'Europe/Rome' }), '20:00', null],
    ['a zone never moves a header\'s UTC', 'fits', () => ['--utc-offset', '+2', ...rigWith({})], '20:00', null],
    ['the rig\'s zone neither', 'fits', () => rigWith({ zone: 'Europe/Rome' }), '20:00', null],
    ['a time given and a header: the time given counts, and the header\'s is named', 'fits',
      () => ['--time', starts.map((t) => t.replace('T20', 'T21')).join(',')], '21:00',
      /says 2026-11-25 20:00:02 UTC .* 1 h from the time given/],
    ['a time given and a clock without a zone', 'unzoned', () => ['--time', starts.join(','), ...rigWith({})], '20:00', null],
  ];
  test.each(table)('%s', (_pair, of, words, utc, says) => {
    const answer = json(measure(...frames[of](), ...words(), '--json'));
    expect(first(answer)).toBe(utc);
    if (says) expect(said(answer)).toMatch(says);
    else expect(said(answer)).toBe('');
  });

  test('the line of the answer says which time and from what', () => {
    expect(line(measure(...unzoned, '--zone', 'Europe/Rome')))
      .toBe('time 2026-11-25 20:00:02 to 20:01:22 UTC, mid-exposure (EXIF DateTimeOriginal and Europe/Rome (+01:00, --zone)');
    expect(line(measure(...unzoned, '--utc-offset', '+1'))).toContain('(EXIF DateTimeOriginal and the zone given (--utc-offset)');
    expect(line(measure(...unzoned, ...rigWith({ utcOffset: '+01:00' })))).toContain('and the zone given (rig file)');
    expect(line(measure(...zoned))).toContain('(EXIF DateTimeOriginal and OffsetTimeOriginal + half the exposure)');
  });

  test.each([
    ['command line', () => unzoned.slice(2), () => ['--utc-offset', '-13:00']],
    ['rig file', () => unzoned.slice(2), () => rigWith({ utcOffset: '-13:00' })],
    ['a time given', () => good.slice(2), () => ['--time', '2026-11-26T20:00:00']],
  ])('%s and session: frames of another night are refused, with how far they are apart', (_source, file, words) => {
    const session = join(scratchFolder(), 'night.jsonl');
    expect(measure(...good.slice(0, 2), '--session', session).status).toBe(0);
    const { status, err } = poleward('recheck', ...file(), ...SITE_WORDS, ...words(), '--session', session);
    expect(status).toBe(1);
    expect(err).toMatch(/\d+ h/);
    expect(err).not.toMatch(/\n\s+at /);
  });
});

test('the place of a picture\'s GPS counts where nobody says another', () => {
  const { out, status, err } = poleward('measure', ...zoned);
  expect(status, err).toBe(0);
  expect(out.replace(/\s+/g, ' ')).toContain('site 46.500° N, 11.200° E, 0 m (EXIF GPSLatitude, EXIF GPSLongitude');
});
