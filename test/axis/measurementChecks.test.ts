import { describe, expect, test } from 'vitest';
import { checkClock } from '../../src/axis/clockChecks.js';
import { type AxisMeasurement, measureAxis } from '../../src/axis/measureAxis.js';
import { altitudeOfPole, checkMeasurement } from '../../src/axis/measurementChecks.js';
import { DEGREE } from '../../src/geometry/angle.js';
import { sunAltitude } from '../../src/sky/sun.js';
import { makeSite } from '../../src/sky/site.js';
import { SITE, seeNight } from './sightings.js';

function measured(turnsDeg: readonly number[], site = SITE): AxisMeasurement {
  return measureAxis(seeNight({ altitudeErrorArcmin: 4, azimuthErrorArcmin: 6, turnsDeg, stars: 220, site }).frames, 'refracted');
}

const frames = (
  identified: number, saidFocalPixels: number | null = null,
): { file: string; identified: number; saidFocalPixels: number | null }[] =>
  ['a.fits', 'b.fits', 'c.fits'].map((file) => ({ file, identified, saidFocalPixels }));
const codes = (m: AxisMeasurement, f = frames(40), pole: number | null = 47 * DEGREE): string[] =>
  checkMeasurement(m, f, pole).map((w) => w.code);

describe('a measurement', () => {
  test('in order has nothing to warn of', () => {
    expect(codes(measured([0, 30, 60]))).toEqual([]);
  });

  test('with little turn says what it costs', () => {
    const [warning] = checkMeasurement(measured([0, 4, 8]), frames(40), 47 * DEGREE);
    expect(warning?.code).toBe('small-rotation');
    // sin 30° / sin 4° = 7.2
    expect(warning?.message).toMatch(/only 8\.0° in all: .* ± \d.* 7\.2 times/);
  });

  test('from few stars names the frames', () => {
    const poor = frames(40).map((f, i) => (i === 1 ? { ...f, identified: 6 } : f));
    const [warning] = checkMeasurement(measured([0, 30, 60]), poor, 47 * DEGREE);
    expect(warning?.code).toBe('few-stars');
    expect(warning?.message).toMatch(/Only 6 stars .* b\.fits: /);
  });

  test('far from the pole says what the air costs it, and that two frames are few', () => {
    const near = measured([0, 40]);
    const toEast = [0, 0, 1, 1, 0, 0, 0, 1, 0] as const;
    const sure = (arcmin: number): AxisMeasurement['sigma'] => {
      const sigma = (arcmin / 60) * DEGREE;
      return { altitude: sigma, azimuth: 0, separation: sigma };
    };
    const away = { ...near, frames: near.frames.map((f) => ({ ...f, pose: toEast })), sigma: sure(0.5), sigmaWithAir: sure(0.15) };
    const [air] = checkMeasurement(away, frames(40), 47 * DEGREE);
    expect(air).toMatchObject({ code: 'air-limits', remedies: ['give-air'] });
    expect(air!.message).toMatch(/± 30\.0″ in all\. With pressure and temperature given it would be ± 9\.0″/);
    expect(codes({ ...away, sigmaWithAir: sure(0.4) })).toEqual(['weak-geometry']);
    expect(codes({ ...away, sigmaWithAir: sure(0.4), frames: [...away.frames, ...away.frames] })).toEqual([]);
    expect(codes({ ...near, sigma: away.sigma, sigmaWithAir: away.sigmaWithAir })).toEqual([]);
  });

  test('near the horizon distrusts the air', () => {
    expect(codes(measured([0, 30, 60]), frames(40), 12 * DEGREE)).toEqual(['low-pole']);
    const low = makeSite({ latitudeDeg: 11, longitudeDeg: 9 });
    expect(altitudeOfPole(measured([0, 30, 60], low)) / DEGREE).toBeCloseTo(11.08, 1);
  });

  test('with another scale than was said tells by how much', () => {
    const [warning] = checkMeasurement(measured([0, 30, 60]), frames(40, 40000 * 1.25), 47 * DEGREE);
    expect(warning?.code).toBe('scale-differs');
    // Focal length 40000 px where 50000 was said: pixels are 25 % larger on the sky.
    expect(warning?.message).toMatch(/25 % coarser/);
    expect(codes(measured([0, 30, 60]), frames(40, 40000 * 1.04))).toEqual([]);
  });
});

describe('the clock', () => {
  const at = (iso: string, sun: number | null = -0.5): { time: Date; sunAltitude: number | null } =>
    ({ time: new Date(iso), sunAltitude: sun });

  test('in order has nothing to warn of', () => {
    expect(checkClock([
      { file: '1', ...at('2026-11-25T20:00:00Z') }, { file: '2', ...at('2026-11-25T20:01:00Z') },
      { file: '10', ...at('2026-11-25T20:02:00Z') },
    ])).toEqual([]);
  });

  test('in daylight is suspect', () => {
    // Noon at 9.1° east is 11:23 UTC less the equation of time; the Sun then stands at 90° - 47.3° - 20.8° = 22° (declination from memory).
    const sun = sunAltitude(new Date('2026-11-25T11:10:00Z'), SITE);
    expect(sun / DEGREE).toBeCloseTo(21.9, 0);
    expect(checkClock([{ file: 'a', ...at('2026-11-25T11:10:00Z', sun) }])[0]?.message).toMatch(/Sun stood at 22°/);
    expect(checkClock([{ file: 'a', ...at('2026-11-25T11:10:00Z', null) }])).toEqual([]);
  });

  test('whose own zone was overruled by the one given: both are named, with what the own would make of the answer', () => {
    const of = (own: number, given: number): string => checkClock([{
      file: 'a', ...at('2026-11-25T20:00:00Z'), utcOffsetMinutes: given, overruledZone: { value: own, from: 'EXIF OffsetTimeOriginal' },
    }])[0]!.message;
    expect(of(60, 120)).toMatch(/on UTC \+01:00 \(EXIF OffsetTimeOriginal\); the zone given, \+02:00, counts\..* 1 h later .*by 15°/);
    expect(of(60, 30)).toMatch(/30 min earlier .*by 7\.5°/);
  });

  test('that stands still is suspect', () => {
    expect(checkClock([{ file: 'a', ...at('2026-11-25T20:00:00Z') }, { file: 'b', ...at('2026-11-25T20:00:00Z') }])[0]?.message).toMatch(
      /same moment/,
    );
  });

  test('that runs against the file names is suspect', () => {
    const files = ['shot 9', 'shot 10', 'shot 11'];
    const times = ['2026-11-25T20:00:00Z', '2026-11-25T20:01:00Z', '2026-11-25T19:02:00Z'];
    expect(checkClock(files.map((file, i) => ({ file, ...at(times[i]!) })))[0]?.message).toMatch(/shot 11 was taken before shot 10/);
  });
});
