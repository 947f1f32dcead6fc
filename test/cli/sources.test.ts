import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeSite } from '../../src/sky/site.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { card } from '../frames/fitsBytes.js';
import { type Ran, poleward, scratchFolder, writeNight } from './poleward.js';
import { watching } from './watching.js';

/** What is used and what is said where two sources disagree about place or clock: all pairs of command line, rig file, header, session. */

const TRUTH = { altitudeErrorArcmin: 10, azimuthErrorArcmin: -12 };
const north = writeNight(scratchFolder(), TRUTH);
const southern = makeSite({ latitudeDeg: -33.9, longitudeDeg: 18.4, elevationMetres: 300 });
const south = writeNight(scratchFolder(), { ...ordinaryNight(southern, new Date('2026-11-25T20:00:00Z')), ...TRUTH });

type Place = readonly [latitudeDeg: number, longitudeDeg: number];
const HERE: Place = [46.5, 11.2];
const THERE: Place = [46.5, 26.2];

const HEADER = 'FITS SITELAT and FITS SITELONG of frame 1.fits';

interface Answer {
  readonly axis: { fromRefractedPole: { altitudeArcmin: number; azimuthArcmin: number } };
  readonly site: { latitudeDeg: { value: number; from: string }; longitudeDeg: { value: number } };
  readonly warnings: { code: string; message: string }[];
  readonly recorded?: string;
}
const json = (ran: Ran): Answer => {
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Answer;
};
const codes = ({ warnings }: Answer): string[] => warnings.map((w) => w.code);
const about = (answer: Answer, code: string): string => answer.warnings.filter((w) => w.code === code).map((w) => w.message).join('\n');

/** Copies of frames with cards more in their headers. */
function withCards(frames: readonly string[], cards: readonly string[]): string[] {
  const folder = scratchFolder();
  return frames.map((file, i) => {
    const bytes = readFileSync(file);
    const header = bytes.toString('latin1', 0, 2880);
    const end = header.indexOf('END'.padEnd(80));
    const path = join(folder, `frame ${i + 1}.fits`);
    const more = `${header.slice(0, end)}${cards.join('')}${'END'.padEnd(80)}`.padEnd(2880);
    expect(more).toHaveLength(2880);
    writeFileSync(path, Buffer.concat([Buffer.from(more, 'latin1'), bytes.subarray(2880)]));
    return path;
  });
}
const atPlace = (frames: readonly string[], [latitudeDeg, longitudeDeg]: Place): string[] =>
  withCards(frames, [card('SITELAT', latitudeDeg), card('SITELONG', longitudeDeg)]);
const said = ([latitudeDeg, longitudeDeg]: Place): string[] => [`--latitude=${latitudeDeg}`, `--longitude=${longitudeDeg}`];

function rigWith(content: object): string[] {
  const path = join(scratchFolder(), 'rig.json');
  writeFileSync(path, JSON.stringify(content));
  return ['--rig', path];
}
const rigAt = ([latitudeDeg, longitudeDeg]: Place): string[] => rigWith({ site: { latitudeDeg, longitudeDeg } });
/** A session of these frames at a place. */
function sessionAt(place: Place): string[] {
  const path = join(scratchFolder(), 'night.jsonl');
  expect(poleward('measure', ...north, ...said(place), '--session', path).status).toBe(0);
  return ['--session', path];
}

describe('two sources of the place that differ: the first counts, both are named, and what the second would make of the answer', () => {
  const truth = json(poleward('measure', ...north, ...said(THERE), '--json')).axis.fromRefractedPole;
  const table: readonly [first: string, second: string, words: () => string[], from: string, other: string][] = [
    ['command line', 'rig file', () => [...north, ...said(HERE), ...rigAt(THERE)], '--latitude and --longitude', 'rig file'],
    ['command line', 'header', () => [...atPlace(north, THERE), ...said(HERE)], '--latitude and --longitude', HEADER],
    ['rig file', 'header', () => [...atPlace(north, THERE), ...rigAt(HERE)], 'rig file', HEADER],
  ];
  test.each(table)('%s and %s', (_first, _second, words, from, other) => {
    const answer = json(poleward('measure', ...words(), '--json'));
    expect(answer.site.longitudeDeg.value).toBe(HERE[1]);
    expect(codes(answer)).toEqual(['place-differs']);
    expect(about(answer, 'place-differs'))
      .toContain(`The place used is 46.500° N, 11.200° E (${from}), but by ${other} it is 46.500° N, 26.200° E. `);
    // What was said of the other place is what a measurement with it gives.
    const [, altitude, high, azimuth, east] = /would be ([\d.]+)′ (\w+) and ([\d.]+)′ (\w+) instead of/.exec(about(answer, 'place-differs'))!;
    expect(Math.abs(Number(altitude) * (high === 'high' ? 1 : -1) - truth.altitudeArcmin)).toBeLessThan(0.06);
    expect(Math.abs(Number(azimuth) * (east === 'east' ? 1 : -1) - truth.azimuthArcmin)).toBeLessThan(0.06);
  });

  const withSession: readonly [first: string, words: () => string[], from: string][] = [
    ['command line', () => [...north, ...said(HERE)], '--latitude'],
    ['rig file', () => [...north, ...rigAt(HERE)], 'rig file'],
    ['header', () => atPlace(north, HERE), 'FITS SITELAT'],
  ];
  test.each(withSession)('%s and session: a recheck is refused with both places and the source', (_first, words, from) => {
    const { status, err } = poleward('recheck', ...words(), ...sessionAt(THERE));
    expect(status).toBe(1);
    expect(err.replace(/\S*rig\.json/, '').replace(/\s+/g, ' ')).toMatch(
      new RegExp(`was made at another site \\(latitude 46.5°, longitude 26.2°; these frames: latitude 46.5°, longitude 11.2° by ${from}`),
    );
  });

  test('sources that agree to a tenth of a degree are not mentioned; headers that differ from each other are warned of', () => {
    expect(json(poleward('measure', ...atPlace(north, [46.55, 11.25]), ...said(HERE), '--json')).warnings).toEqual([]);
    const mixed = [...atPlace(north.slice(0, 1), HERE), ...atPlace(north, THERE).slice(1, 2), ...atPlace(north, [40, 11.2]).slice(2)];
    const answer = json(poleward('measure', ...mixed, '--json'));
    expect(codes(answer)).toEqual(['place-differs', 'place-differs']);
    expect(about(answer, 'place-differs')).toMatch(/of frame 2\.fits it is 46\.500° N, 26\.200° E[^]*of frame 3\.fits it is 40\.000° N/);
  });
});

describe('latitudes of opposite hemispheres', () => {
  test('are named with their sources where the used one is wrong', () => {
    for (const [frames, wrong, right, pole] of [[north, -46.5, 46.5, 'north']] as const) {
      const { status, err } = poleward('measure', ...atPlace(frames, [right, 11.2]), ...rigAt([wrong, 11.2]));
      expect(status).toBe(1);
      const half = (latitude: number): string => `${Math.abs(latitude).toFixed(3)}° ${latitude < 0 ? 'S' : 'N'}`;
      expect(err).toContain(`shows the stars of the ${pole} celestial pole`);
      expect(err).toContain(`${half(wrong)} by rig file`);
      expect(err).toContain(`${half(right)} by FITS SITELAT and FITS SITELONG of frame 1.fits`);
    }
  });

  test('are a warning where the used one is right', () => {
    const answer = json(poleward('measure', ...atPlace(south, [33.9, 18.4]), ...said([-33.9, 18.4]), '--json'));
    expect(about(answer, 'place-differs')).toMatch(/it is 33\.900° N.*on the other side of the equator, and the frames show the south pole\./);
    expect(answer.axis.fromRefractedPole.azimuthArcmin).toBeCloseTo(-12, 1);
  });
});

describe('a watch', () => {
  test('says of each answer what another place would make of it', async () => {
    const folder = scratchFolder();
    const frames = atPlace(north, THERE);
    await watching(folder, ['--no-session', ...said(HERE)], async ({ messages, answers }) => {
      copyFileSync(frames[0]!, join(folder, 'frame 1.fits'));
      await messages(/first frame/);
      copyFileSync(frames[1]!, join(folder, 'frame 2.fits'));
      const [answer] = await answers(1);
      expect(answer!.warnings.map((w) => w.code)).toEqual(['place-differs']);
      expect(answer!.warnings[0]!.message).toMatch(/\(--latitude and --longitude\), but by FITS .* it is 46\.500° N, 26\.200° E\. With that the axis/);
    });
  });
});

describe('beside the Earth\'s pole', () => {
  test('no azimuth and no knob is told, only the distance, and why', () => {
    const { out, err, status } = poleward('measure', ...north, '--latitude', '90', '--longitude', '0');
    expect(status).toBe(0);
    expect(out).not.toMatch(/azimuth first|then altitude|east|west|lock/i);
    expect(out).toMatch(/off the pole by 12\.\d+′ ± [\d.]+″[^]*next: Turn a knob a little, save a frame: the distance\s+shows/);
    expect(err.replace(/\s+/g, ' ')).toContain('At latitude 90.0° (--latitude) azimuth has no meaning');
    const answer = json(poleward('measure', ...north, '--latitude', '89.5', '--longitude', '0', '--json'));
    expect(codes(answer)).toEqual(['no-site']);
    expect(answer.axis.fromRefractedPole.azimuthArcmin ?? null).toBeNull();
  });
});

describe('sites by name', () => {
  const sites = {
    home: { latitudeDeg: 40, longitudeDeg: -3, elevationMetres: 600 },
    Hill: { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 },
  };

  test('are chosen by name, in capitals or small letters; an unknown name is refused with a list of the known ones', () => {
    const answer = json(poleward('measure', ...north, ...rigWith({ site: sites.home, sites }), '--site', 'hill', '--json'));
    expect(answer.site).toMatchObject({ latitudeDeg: { value: 46.5 }, elevationMetres: { value: 1200 } });
    expect(answer.warnings).toEqual([]);
    const { status, err } = poleward('measure', ...north, ...rigWith({ sites }), '--site', 'beach');
    expect(status).toBe(1);
    expect(err).toContain('The site "beach" is not known: the rig file names home, Hill. Choose one of these.');
    expect(poleward('measure', ...north, '--site', 'home', ...rigWith({})).err).toContain('names no sites');
  });

  test('a single one is taken; of several the one that the headers point to is offered', () => {
    expect(json(poleward('measure', ...north, ...rigWith({ sites: { Hill: sites.Hill } }), '--json')).site.latitudeDeg.value).toBe(46.5);
    const answer = json(poleward('measure', ...atPlace(north, HERE), ...rigWith({ sites }), '--json'));
    expect(about(answer, 'site-offered')).toMatch(/the rig file's site Hill \(by FITS SITELAT .*\)\. Choose it .*\(--site NAME\)\.$/);
    const wrong = json(poleward('measure', ...atPlace(north, HERE), ...rigWith({ sites }), '--site', 'home', '--json'));
    expect(about(wrong, 'place-differs'))
      .toMatch(/\(rig file, site home\), but by FITS .* The rig file's site Hill is there: choose it \(--site NAME\)\.$/);
  });
});

describe('how much it matters', () => {
  const line = (ran: Ran): string => /if wrong, [^]*?(?=\n\n|\n\S|$)/.exec(ran.out)?.[0].replace(/\s+/g, ' ') ?? '';

  test('an assumed clock and place: one line with what an hour and a degree would do, as other measurements bear out', () => {
    const local = withCards(north, []).map((path) => {
      const bytes = readFileSync(path);
      const header = bytes.toString('latin1', 0, 2880).replace(/TIMESYS = 'UTC {5}'/, 'TIMESYS = \'LOCAL   \'');
      writeFileSync(path, Buffer.concat([Buffer.from(header, 'latin1'), bytes.subarray(2880)]));
      return path;
    });
    const at = (...words: string[]): Ran => poleward('measure', ...local, ...words);
    const found = line(at('--utc-offset', '+00:00', ...said(HERE)));
    const numbers = /move by ([\d.]+)′ and ([\d.]+)′ for an hour of the clock; by [^;]* for 1° of longitude; by/.exec(found);
    const error = (...words: string[]) => json(at(...words, ...said(HERE), '--json')).axis.fromRefractedPole;
    const [before, after] = [error('--utc-offset', '-00:15'), error('--utc-offset', '+00:15')];
    expect(Number(numbers![1])).toBeCloseTo(2 * Math.abs(after.altitudeArcmin - before.altitudeArcmin), 0);
    expect(Number(numbers![2])).toBeCloseTo(2 * Math.abs(after.azimuthArcmin - before.azimuthArcmin), 0);
  });

  test('only what is assumed is weighed', () => {
    expect(line(poleward('measure', ...north, ...said(HERE)))).toMatch(/^if wrong, altitude and azimuth move by [^;]* for 1° of longitude;/);
    expect(line(poleward('measure', ...atPlace(north, HERE)))).toBe('');
    expect(line(poleward('measure', ...atPlace(north, HERE), '--clock-ahead', '00:00:10'))).toMatch(/^if wrong, [^;]* for an hour of the clock$/);
  });
});
