import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { card } from '../frames/fitsBytes.js';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';

interface Answer {
  readonly axis: Record<'fromTruePole' | 'fromRefractedPole', { altitudeArcmin: number; azimuthArcmin: number; separationArcmin: number }>;
  readonly frames: { file: string; used: boolean }[];
  readonly warnings: { code: string; message: string }[];
}
const ERROR = { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 };
const good = writeNight(scratchFolder(), ERROR);
const answer = (...words: string[]): Answer => {
  const ran = poleward('measure', ...words, ...SITE_WORDS, '--json');
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Answer;
};
const clock = ({ warnings }: Answer): string[] => warnings.filter((w) => w.code === 'clock-suspect').map((w) => w.message);

/** A copy of a frame with other text of the same length in its header, and further cards where its END was. */
function changed(file: string, texts: readonly (readonly [string, string])[], cards: readonly string[] = []): string {
  const bytes = readFileSync(file);
  let header = bytes.toString('latin1', 0, 2880);
  for (const [from, to] of texts) {
    expect(header).toContain(from);
    expect(to).toHaveLength(from.length);
    header = header.replace(from, to);
  }
  const end = header.indexOf('END'.padEnd(80));
  const more = `${header.slice(0, end)}${cards.join('')}${'END'.padEnd(80)}`;
  expect(more.length).toBeLessThanOrEqual(2880);
  const path = join(scratchFolder(), file.split(/[/\\]/).at(-1)!);
  writeFileSync(path, Buffer.concat([Buffer.from(more.padEnd(2880), 'latin1'), bytes.subarray(2880)]));
  return path;
}

test('a header whose times are an hour apart is warned of, and the answer is the one of the time that was taken', () => {
  // MJD of 2026-11-25T19:00 UTC, an hour before DATE-OBS: 61369 + 19/24.
  const frames = good.map((file) => changed(file, [], [card('MJD-OBS', 61369 + 19 / 24)]));
  const out = answer(...frames);
  expect(clock(out)).toHaveLength(1);
  expect(clock(out)[0]).toMatch(
    /frame 1\.fits contradicts itself about the time \(2 more frames alike\): FITS MJD-OBS says 2026-11-25 19:00:00 .*have that taken off \(--clock-ahead ±HH:MM\)\.$/,
  );
  expect(out.axis).toEqual(answer(...good).axis);
});

test('--clock-ahead corrects the clock: an hour turns the direction by 15° about the pole and leaves the size from the pole that the '
  + 'frames show', () => {
  const [on, off] = [answer(...good), answer(...good, '--clock-ahead', '+01:00')];
  expect(off.axis.fromRefractedPole.separationArcmin).toBeCloseTo(on.axis.fromRefractedPole.separationArcmin, 1);
  const cosine = Math.cos((46.5 * Math.PI) / 180);
  const direction = ({ axis: { fromRefractedPole: e } }: Answer): number =>
    (Math.atan2(e.azimuthArcmin * cosine, e.altitudeArcmin) * 180) / Math.PI;
  expect(Math.abs(direction(off) - direction(on))).toBeCloseTo(15, 0);
  const inspected = JSON.parse(
    poleward('inspect', good[0]!, '--clock-ahead', '00:00:30', '--json').out,
  ) as { metadata: { midExposure: { value: string; from: string } } };
  expect(inspected.metadata.midExposure).toEqual({
    value: '2026-11-25T19:59:32.000Z', from: 'FITS DATE-OBS + half the exposure, clock 30 s ahead (--clock-ahead)',
  });
  expect(poleward('measure', ...good, '--clock-ahead', 'one hour').status).toBe(2);
});

test('a time in daylight is suspect, and the local time there is named', () => {
  const day = good.map((file) => changed(file, [['2026-11-25T20', '2026-11-25T03']]));
  const ran = poleward('measure', ...day, '--latitude', '46.5', '--longitude', '140', '--json');
  expect(ran.status, ran.err).toBe(0);
  expect(clock(JSON.parse(ran.out) as Answer)[0]).toMatch(
    /when the Sun stood at \d+° there, yet it shows stars\. .*local time here is near UTC \+09:00\. .*\(--clock-ahead ±HH:MM\)\.$/,
  );
});

test('a local time that is the same as UTC far from Greenwich is suspect', () => {
  const frames = good.map(
    (file) => changed(file, [], [card('LOCALTIM', `'${/T(\d\d:\d\d:\d\d)/.exec(readFileSync(file).toString('latin1', 0, 2880))![1]}'`)]),
  );
  const ran = poleward('measure', ...frames, '--latitude', '46.5', '--longitude', '-110', '--json');
  expect(clock(JSON.parse(ran.out) as Answer)[0]).toMatch(
    /its local time is the same as its UTC, yet the Sun's time at this longitude is UTC -07:00/,
  );
  expect(clock(answer(...frames))).toEqual([]);
});

describe('frames about midnight', () => {
  const night = writeNight(scratchFolder(), { ...ERROR, startUtc: new Date('2026-11-25T23:59:00Z'), intervalSeconds: 50 });

  test('with a date that changes are measured without a word', () => {
    const out = answer(...night);
    expect(clock(out)).toEqual([]);
    expect(out.frames.map((f) => f.used)).toEqual([true, true, true]);
    expect(out.axis.fromTruePole.altitudeArcmin).toBeCloseTo(10, 1);
  });

  test('with one whose date did not change leave it out, and say why', () => {
    const stuck = changed(night[2]!, [['2026-11-26T00', '2026-11-25T00']]);
    const out = answer(night[0]!, night[1]!, stuck);
    expect(out.frames.map((f) => f.used)).toEqual([true, true, false]);
    expect(out.warnings.find((w) => w.code === 'frame-skipped')?.message)
      .toMatch(
        /frame 3\.fits was taken 2026-11-25 00:00:\d\d UTC by its time, 23 h \d+ min before .*If its date did not change at midnight, correct the date/,
      );
    expect(out.axis.fromTruePole.altitudeArcmin).toBeCloseTo(10, 1);
    const two = poleward('measure', night[0]!, stuck, ...SITE_WORDS);
    expect(two.status).toBe(1);
    expect(two.err).toMatch(/No frame can be used.*If its date did not change at midnight/s);
  });
});

test('inspect shows each value with its origin, what was ignored and what is suspect, in text and JSON', () => {
  const file = changed(
    good[0]!, [], [card('UT', "'21:00:00'"), card('SITELAT', "'+46 30 00'"), card('SITELONG', "'11:12:00 E'"), card('SITEELEV', 99999)],
  );
  const text = poleward('inspect', file).out;
  expect(text).toMatch(/latitude 46\.5° \(FITS SITELAT\)/);
  expect(text).toMatch(/longitude 11\.2° \(FITS SITELONG\)/);
  expect(text.replace(/\s+/g, ' ')).toMatch(
    /note: FITS SITEELEV was ignored: "99999" is not between -450 and 9000\..* warning: .* contradicts itself about the time: FITS UT says 21:00:00/,
  );
  for (const line of text.split('\n')) expect(line.length <= 60 || line.includes('poleward test')).toBe(true);
  const json = JSON.parse(poleward('inspect', file, '--json').out) as {
    metadata: Record<string, { from: string }>; remarks: string[]; warnings: { code: string }[];
  };
  expect(Object.values(json.metadata).map(({ from }) => from.slice(0, 5))).toEqual(Object.keys(json.metadata).map(() => 'FITS '));
  expect(json.remarks).toHaveLength(1);
  expect(json.warnings.map((w) => w.code)).toEqual(['clock-suspect']);
});
