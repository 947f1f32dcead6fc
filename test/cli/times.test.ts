import { copyFileSync, renameSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { card } from '../frames/fitsBytes.js';
import { localClock, otherTimes, startsOf } from './otherTimes.js';
import { SITE_WORDS, poleward, scratchFolder, writeNight } from './poleward.js';
import { type Out, watching } from './watching.js';

/** Times of frames from elsewhere than their own header: zones, options, files. */

const TRUTH = { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 };
/** Exposures of 4 s, the first begun at 20:00:00 UTC. */
const good = writeNight(scratchFolder(), TRUTH);
interface Answer { readonly axis: unknown; readonly frames: { utc: string }[]; readonly warnings: { code: string; message: string }[] }
const answer = (...words: string[]): Answer => {
  const ran = poleward('measure', ...words, ...SITE_WORDS, '--json');
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Answer;
};
const spoken = (text: string): string => text.replace(/\s+/g, ' ');

const starts = startsOf(good);
const timeless = otherTimes(good, () => []);
const axis = answer(...good).axis;

describe('the zone of the camera', () => {
  const winter = otherTimes(good, localClock(1));

  test('by its name it is the offset of that date, and the answer is the same to the last digit', () => {
    const byName = answer(...winter, '--zone', 'Europe/Madrid');
    expect(byName.axis).toEqual(axis);
    expect(byName.warnings).toEqual([]);
    expect(spoken(poleward('measure', ...winter, ...SITE_WORDS, '--zone', 'Europe/Madrid').out))
      .toContain('20:00:02 to 20:01:22 UTC, mid-exposure (FITS DATE-OBS and Europe/Madrid (+01:00, --zone) + half the exposure)');
  });

  test.each([['--utc-offset', '+1'], ['--zone', '+0100']])('as an offset it may be written %s %s', (option, zone) => {
    expect(answer(...winter, option, zone).axis).toEqual(axis);
  });

  test('from the rig file, which the command line overrules', () => {
    const rig = join(scratchFolder(), 'rig.json');
    writeFileSync(rig, '{ "clock": { "zone": "Europe/Madrid" } }');
    expect(answer(...winter, '--rig', rig).axis).toEqual(axis);
    expect(answer(...winter, '--rig', rig, '--utc-offset', '+02:00').frames[0]!.utc).toBe('2026-11-25T19:00:02.000Z');
    writeFileSync(rig, '{ "clock": { "zone": "Europe/Madrad" } }');
    expect(poleward('measure', ...winter, '--rig', rig).err).toMatch(/line 1: clock\.zone is "Europe\/Madrad", which is not a time zone/);
    writeFileSync(rig, '{ "clock": { "utcOffset": "+1" } }');
    expect(answer(...winter, '--rig', rig).axis).toEqual(axis);
  });

  test('missing, it is asked for once for all frames, with what the longitude suggests', () => {
    const { status, err } = poleward('measure', ...winter, ...SITE_WORDS);
    expect(status).toBe(1);
    expect(err.match(/zone that the clock/g)).toHaveLength(1);
    expect(err).toMatch(/frame 1\.fits, .*frame 2\.fits, .*frame 3\.fits: the camera's clock time is there \(FITS DATE-OBS\), but not its zone\. /);
    expect(err).toMatch(/about \+01:00 here, \+02:00 in summer\. Give the zone .*\(--zone Europe\/Madrid, --utc-offset ±HH:MM\)\.$/m);
  });

  test('the hour that clocks show twice in autumn is asked about, and the one they leave out in spring', () => {
    const at = (text: string): string => {
      const [frame] = otherTimes(good, () => [card('DATE-OBS', `'${text}'`), card('TIMESYS', '\'LOCAL   \'')]);
      const { out, err } = poleward('inspect', frame!, '--zone', 'Europe/Madrid');
      return spoken(out + err);
    };
    expect(at('2026-10-25T02:30:00')).toMatch(/clocks in Europe\/Madrid showed 2026-10-25 02:30 twice.*\+02:00 or \+01:00/);
    expect(at('2026-03-29T02:30:00')).toMatch(/clocks in Europe\/Madrid never showed 2026-03-29 02:30.*\+01:00 or \+02:00/);
  });

  test('no abbreviation and no other word is taken for one', () => {
    for (const zone of ['CET', 'IST', 'Spain', '+15']) expect(poleward('measure', ...winter, '--zone', zone).status, zone).toBe(2);
    expect(poleward('measure', ...winter, '--zone', 'Europe/Madrid', '--utc-offset', '+1').status).toBe(2);
  });
});

describe('a watch of frames that say no time', () => {
  test('takes those of the files where it is asked to, and says so; not where copying made them alike', async () => {
    const folder = scratchFolder();
    const save = (i: number, after: number): void => {
      const path = join(folder, `frame ${i + 1}.fits`);
      const end = Date.parse(`${starts[i]!}Z`) / 1000 + after;
      copyFileSync(timeless[i]!, `${path}.part`);
      utimesSync(`${path}.part`, end, end);
      renameSync(`${path}.part`, path);
    };
    const { err } = await watching(folder, ['--file-times', '--no-session', ...SITE_WORDS], async ({ messages, answers, trouble }) => {
      save(0, 4);
      await messages(/frame 1\.fits: first frame/);
      save(1, 4);
      const [first] = await answers(1);
      expect(first!.axis.fromTruePole.altitudeArcmin).toBeCloseTo((axis as Out['axis']).fromTruePole.altitudeArcmin, 1);
      expect(first!.warnings.map((w) => w.message).join()).toMatch(/The time is that of the files/);
      save(2, -36);
      await trouble(/the files were written at the same moment, as copying does/);
    });
    expect(err).not.toMatch(/\n\s+at /);
  });
});

describe('frames that say no time', () => {
  test('are measured by the times given, one for each', () => {
    const { axis: found, warnings } = answer(...timeless, '--time', starts.join(','));
    expect(found).toEqual(axis);
    expect(warnings).toEqual([]);
  });

  test('too few or too many times are refused', () => {
    for (const times of [starts.slice(1), [...starts, starts[0]!]]) {
      const { status, err } = poleward('measure', ...timeless, '--time', times.join(','));
      expect(status).toBe(1);
      expect(err).toMatch(/^\d times were given for 3 frames\. Give one for each, in the order of the frames\.$/m);
    }
  });

  test('without a time the refusal says what can be given', () => {
    const { status, err } = poleward('measure', ...timeless, ...SITE_WORDS);
    expect(status).toBe(1);
    expect(err).toMatch(/do not say when they were taken.*\(--time, --file-times\)\.$/m);
  });

  const written = (after: (i: number) => number): string[] => {
    const folder = scratchFolder();
    return timeless.map((file, i) => {
      const path = join(folder, `frame ${i + 1}.fits`);
      copyFileSync(file, path);
      const end = Date.parse(`${starts[i]!}Z`) / 1000 + after(i);
      utimesSync(path, end, end);
      return path;
    });
  };

  test('are measured by the time of the file as the end of the exposure, with a warning', () => {
    const { axis: found, warnings } = answer(...written(() => 4), '--file-times');
    expect(found).toEqual(axis);
    expect(warnings.map((w) => w.code)).toEqual(['clock-suspect']);
    expect(warnings[0]!.message).toMatch(/The time is that of the files \(3 frames\), taken as the end of the exposure/);
  });

  test('but not where copying made the files\' times alike, or they run against the names', () => {
    const alike = poleward('measure', ...written((i) => -40 * i), '--file-times', ...SITE_WORDS);
    expect(alike.status).toBe(1);
    expect(alike.err).toMatch(/the files were written at the same moment, as copying does.*\(--time/);
    const backward = poleward('measure', ...written((i) => -100 * i), '--file-times', ...SITE_WORDS);
    expect(backward.status).toBe(1);
    expect(backward.err.match(/run against the names/g)).toHaveLength(1);
  });
});

test('a time given beats the frame\'s own, and the difference is said', () => {
  const { frames, warnings } = answer(...good, '--time', starts.map((t) => t.replace('T20', 'T21')).join(','));
  expect(frames[0]!.utc).toBe('2026-11-25T21:00:02.000Z');
  expect(warnings.map((w) => w.message)).toEqual([
    expect.stringMatching(/frame 1\.fits says 2026-11-25 20:00:02 UTC .*\(FITS DATE-OBS \+ half the exposure\), 1 h from the time given/),
  ]);
});
