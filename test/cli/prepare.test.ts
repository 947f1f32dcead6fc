import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

/** Invented rig. */
const RIG = {
  site: { latitudeDeg: -36.9, longitudeDeg: 174.7, elevationMetres: 60, skyMagnitude: 20.5 }, clock: { utcOffset: '+13:00' },
  camera: {
    pixelSizeMicrometres: 3.76, focalLengthMillimetres: 250, apertureMillimetres: 50, widthPixels: 3000, heightPixels: 2000,
    readNoiseElectrons: 2,
  },
  mount: { capacityKilograms: 10, payloadKilograms: 7 },
};
const folder = scratchFolder();
const rig = join(folder, 'rig.json');
writeFileSync(rig, JSON.stringify(RIG));
const NORTH = ['prepare', '--latitude', '39.2', '--longitude', '-3.4', '--date', '2026-11-25'];
const OPTICS = ['--focal-length', '180', '--pixel-size', '4.8', '--sensor', '1280x960', '--aperture', '30'];

interface Sheet {
  schema: string; hemisphere: string; latitudeScaleDeg: number; night: { from: string }; missing: string[];
  compass: { bearingDeg: number; use: string; inForce: boolean }; camera: Record<string, { value: number; from: string } | null>;
  poleStar: { name: string; 
    places: { utc: string; hourAngleHours: number; distanceArcmin: number; uprightClock: number; invertingClock: number }[];
  };
  darkness: { nautical: { kind: string; from?: string }; nextDarkNight: string | null };
  exposure: { seconds: number; suggested: boolean; catalogueStars: number } | null;
  rotation: { reached: boolean; advised: { frames: number; turnDeg: number; upSigmaArcsec: number } } | null;
  payload: { verdict: string } | null; warnings: { code: string; message: string }[];
  cautions: { id: string }[]; settingUp: { id: string }[];
}
const json = (...words: string[]): Sheet => {
  const ran = poleward(...words, '--json');
  expect(ran.status, ran.err).toBe(0);
  return JSON.parse(ran.out) as Sheet;
};

describe('the sheet', () => {
  const words = [...NORTH, ...OPTICS, '--payload', '6', '--capacity', '13', '--utc-offset', '+01:00'];
  const ran = poleward(...words, '--full');
  test('fits 60 columns and says all in the order of need', () => {
    expect(ran.status, ran.err).toBe(0);
    expect(ran.err).toBe('');
    expect(ran.out.split('\n').filter((line) => line.length > 60)).toEqual([]);
    const order = ['night of 25 November 2026, times UTC+01:00', 'latitude scale 39.20°', 'true north', 'dark ', 'fully dark',
      'Moon ', 'Polaris, 37.3′',
      'field ', 'expose ', 'turn ', 'payload ', 'setting up', 'take care', 'site 39.200° N'];
    const places = order.map((words) => ran.out.indexOf(words));
    expect(places).not.toContain(-1);
    expect([...places].sort((a, b) => a - b)).toEqual(places);
  });
  test('without --full is one screen: what to set and how to take the frames, and where the rest is', () => {
    const { out } = poleward(...words);
    expect(out.trimEnd().split('\n').length).toBeLessThanOrEqual(24);
    for (const part of ['latitude scale', 'true north', 'dark ', 'Moon ', 'field ', 'expose ', 'turn ', 'payload ', 'cautions, ']) {
      expect(out).toContain(part);
    }
    expect(out).not.toMatch(/take care|setting up\n|upright scope/);
  });
  test('puts the counterweight before the telescope, and the Sun first among the cautions', () => {
    const { settingUp, cautions } = json(...NORTH);
    const ids = settingUp.map(({ id }) => id);
    expect(ids.filter((id) => ['tripod', 'level', 'latitude', 'counterweight', 'telescope', 'balance'].includes(id)))
      .toEqual(['tripod', 'level', 'latitude', 'counterweight', 'telescope', 'balance']);
    expect(cautions.map(({ id }) => id)).toEqual(['sun', 'weights', 'mains-damp', 'lasers', 'feet-cables', 'cold', 'local-rules']);
  });
  test('is dim red at night', () => {
    expect(poleward(...NORTH, '--night').out).toMatch(/^\u001b\[2;31m[^\u001b]*\u001b\[0m\n$/);
  });
  test('can be read by programs', () => {
    const sheet = json(...NORTH, ...OPTICS, '--at', '21:00,02:30');
    expect(sheet).toMatchObject({ schema: 'poleward/preparation-1', hemisphere: 'north', latitudeScaleDeg: 39.2, missing: [] });
    expect(sheet.poleStar.places.map(({ utc }) => utc)).toEqual(['2026-11-25T21:00:00.000Z', '2026-11-26T02:30:00.000Z']);
    expect(sheet.exposure).toMatchObject({ suggested: true });
    expect(sheet.exposure!.catalogueStars).toBeGreaterThan(40);
    expect(sheet.rotation).toMatchObject({ reached: true, advised: { frames: 3, turnDeg: 30 } });
  });
});

describe('the rig file', () => {
  test('gives site, zone, camera and weights, and the command line beats it', () => {
    const sheet = json('prepare', '--rig', rig, '--date', '2026-12-10', '--aperture', '60');
    expect(sheet).toMatchObject({ hemisphere: 'south', missing: [], payload: { verdict: 'over-half' } });
    expect(sheet.camera).toMatchObject({
      apertureMillimetres: { value: 60, from: '--aperture' }, widthPixels: { value: 3000 }, skyMagnitude: { value: 20.5 },
      readNoiseElectrons: { value: 2 },
    });
    expect(sheet.poleStar.name).toBe('sigma Octantis');
    // Noon of 10 December by the meridian of 174.7° E is 0:21 UTC.
    expect(sheet.night.from).toMatch(/^2026-12-10T00:2/);
    expect(sheet.warnings.map(({ code }) => code)).toEqual(['payload']);
  });
});

test('either side of the date line: the evening\'s date is the site\'s, and the clock\'s own is given where it differs', () => {
  const head = (...words: string[]): string =>
    poleward('prepare', '--latitude', '-17', '--date', '2026-11-25', ...words).out.split('\n')[0]!;
  expect(head('--longitude', '179.9')).toBe('night of 25 November 2026, times UTC');
  expect(head('--longitude', '-179.9')).toBe('night of 25 November 2026, times UTC (evening: 26 November)');
  expect(head('--longitude', '-179.9', '--utc-offset', '+12:00')).toBe('night of 25 November 2026, times UTC+12:00');
});

describe('places where something is missing', () => {
  test('no darkness in a northern summer: the next dark night is named', () => {
    const ran = poleward('prepare', '--latitude', '69.7', '--longitude', '19', '--date', '2026-06-20');
    expect(ran.status).toBe(0);
    expect(ran.out).toMatch(/no darkness\s+the Sun does not set[^]*next dark night\s+is\s+that\s+of \d+ (August|September)\s+2026/);
  });
  test('a compass near the magnetic pole, a date after the model, a place near the Earth\'s pole', () => {
    const ran = poleward('prepare', '--latitude', '86', '--longitude', '139', '--date', '2031-02-20');
    expect(ran.status).toBe(0);
    expect(ran.out).toMatch(/true north\s+no compass here/);
    expect(ran.err).toMatch(/A compass is useless here/);
    expect(ran.err).toMatch(/valid from 2025\.0 to 2030\.0/);
    expect(ran.err).toMatch(/Within 10° of the Earth's pole/);
    expect(ran.err.split('\n').filter((line) => line.length > 60)).toEqual([]);
  });
  test('optics not known: it says what to give, and forecasts nothing', () => {
    const ran = poleward(...NORTH, '--focal-length', '180', '--payload', '6');
    expect(ran.out).toMatch(/can't be told:\s+give --pixel-size, --sensor and --aperture/);
    expect(ran.out).toMatch(/payload\s+can't be judged: give --capacity/);
    expect(json(...NORTH)).toMatchObject({
      exposure: null, rotation: null, missing: ['--focal-length', '--pixel-size', '--sensor', '--aperture'],
    });
  });
  test('a field with too few stars and a precision out of reach', () => {
    expect(json(...NORTH, '--focal-length', '2000', '--pixel-size', '3.76', '--sensor', '3000x2000', '--aperture', '200').warnings.map(
      ({ code }) => code,
    ))
      .toEqual(['few-stars', 'precision-out-of-reach']);
    expect(json(...NORTH, ...OPTICS, '--precision', '0.05').warnings).toMatchObject([{ code: 'precision-out-of-reach' }]);
  });
  test('a payload over the rating', () => {
    const { payload, warnings } = json(...NORTH, '--payload', '14', '--capacity', '13');
    expect(payload).toMatchObject({ verdict: 'over-rating' });
    expect(warnings[0]!.message).toMatch(/over the mount's rating.*Take weight off/);
  });
});

describe('bad input', () => {
  test.each([
    [
      'no site', ['prepare'], 1,
      /Where you will observe is not known\. Give latitude and longitude, .* \(--latitude, --longitude, poleward rig --init\)\.$/m,
    ],
    ['optics that can\'t be', [...NORTH, '--focal-length', '50', '--aperture', '300'], 1, /faster than f\/0\.5.*Check both/],
    ['a day that is none', [...NORTH.slice(0, 5), '--date', '2026-02-30'], 2, /not a date\. Write it like/],
    ['a time that is none', [...NORTH, '--at', '25:00'], 2, /not a time of day/],
    ['a sensor that is none', [...NORTH, '--sensor', '1280'], 2, /Write it like 800x600/],
    ['a sky brighter than day', [...NORTH, '--sky-brightness', '4'], 2, /sky brightness "4" is not a number from 15 to 23/],
  ])('%s', (_, words, status, says) => {
    const ran = poleward(...words);
    expect(ran.status).toBe(status);
    expect(ran.out).toBe('');
    expect(ran.err).toMatch(says);
    expect(ran.err).not.toMatch(/\n\s+at /);
  });
});
