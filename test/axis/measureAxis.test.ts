import fc from 'fast-check';
import { polarMotionSigma } from '../../src/sky/polarMotion.js';
import { describe, expect, test } from 'vitest';
import { AIR_KNOWN } from '../../src/axis/axisResult.js';
import { type AxisMeasurement, measureAxis } from '../../src/axis/measureAxis.js';
import { PolewardError } from '../../src/error.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { apply, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { angleBetween } from '../../src/geometry/vector.js';
import { type Lens, toPixel } from '../../src/identify/lens.js';
import { makeSite } from '../../src/sky/site.js';
import { HEIGHT, WIDTH, seeNight } from './sightings.js';

const SOUTH = makeSite({ latitudeDeg: -33, longitudeDeg: 151, elevationMetres: 50, pressureHectopascal: 1010, temperatureCelsius: 15 });

function codeOf(act: () => unknown): string {
  try {
    act();
  } catch (error) {
    if (error instanceof PolewardError) return error.code;
    throw error;
  }
  return 'none';
}

describe('the axis', () => {
  test('comes out in altitude and azimuth as put in, north and south, turned either way', () => {
    fc.assert(fc.property(
      fc.constantFrom(undefined, SOUTH), fc.double({ min: -60, max: 60, noNaN: true }), fc.double({ min: -60, max: 60, noNaN: true }),
      fc.constantFrom([0, 35, 70], [0, -35, -70], [0, 60], [20, -30, 5, 40]), fc.integer({ min: 1, max: 1e6 }),
      (site, altitude, azimuth, turnsDeg, seed) => {
        const { frames } = seeNight({
          ...(site ? { site } : {}), altitudeErrorArcmin: altitude, azimuthErrorArcmin: azimuth, turnsDeg, seed,
        });
        const m = measureAxis(frames, 'true');
        // Some 60 stars of 0.1 px (0.5″) a frame: well under an arcsecond.
        expect(Math.abs(m.fromTruePole.altitude / ARCMINUTE - altitude)).toBeLessThan(1 / 60);
        expect(Math.abs(m.fromTruePole.azimuth / ARCMINUTE - azimuth)).toBeLessThan(1.5 / 60);
      }), { numRuns: 25 });
  });

  test('has refraction between its errors from the two poles, in altitude only', () => {
    const { frames } = seeNight({ altitudeErrorArcmin: 5, azimuthErrorArcmin: -7, turnsDeg: [0, 40, 80] });
    const m = measureAxis(frames, 'refracted');
    // At 47° altitude the refraction is about 58.3″·tan(42.7°)·(965/1010) = 51.4″ (Smart, Spherical Astronomy, from memory).
    expect((m.fromTruePole.altitude - m.fromRefractedPole.altitude) / ARCSECOND).toBeCloseTo(51.4, -0.5);
    expect(m.fromTruePole.azimuth).toBeCloseTo(m.fromRefractedPole.azimuth, 9);
  });

  test('has the same pixel in all frames, and the pole the pixel where a star at it would be', () => {
    const { frames, axis, pole } = seeNight({ altitudeErrorArcmin: 20, azimuthErrorArcmin: 15, turnsDeg: [0, 30, 60] });
    const m = measureAxis(frames, 'true');
    frames.forEach((frame, i) => {
      const { lens, pose } = frame.identification;
      const at = (d: typeof axis): { x: number; y: number } => toPixel(lens, apply(inverse(pose), d))!;
      // `pose` in the test is half a pixel off the true one, by design.
      expect(Math.hypot(m.frames[i]!.rotationCentre!.x - at(axis).x, m.frames[i]!.rotationCentre!.y - at(axis).y)).toBeLessThan(0.8);
      expect(Math.hypot(m.frames[i]!.pole!.x - at(pole).x, m.frames[i]!.pole!.y - at(pole).y)).toBeLessThan(0.8);
      expect(m.frames[i]!.rotationCentre!.x).toBeCloseTo(m.frames[0]!.rotationCentre!.x, 6);
    });
  });

  test('an hour of tracking without a slew is turn enough', () => {
    const { frames } = seeNight({ altitudeErrorArcmin: 8, azimuthErrorArcmin: 3, turnsDeg: [0, -15.04], minutesApart: 60 });
    const m = measureAxis(frames, 'true');
    expect(Math.abs(m.fromTruePole.altitude / ARCMINUTE - 8)).toBeLessThan(0.1);
    expect(Math.abs(m.fromTruePole.azimuth / ARCMINUTE - 3)).toBeLessThan(0.15);
  });

  test('without a site has a separation from the pole', () => {
    const { frames } = seeNight({ site: null, altitudeErrorArcmin: -30, azimuthErrorArcmin: 0, turnsDeg: [0, 45, 90] });
    expect(measureAxis(frames, 'refracted').fromTruePole.separation / ARCMINUTE).toBeCloseTo(30, 1);
  });

  test('is found through a lens that distorts, which it learns', () => {
    const lens: Lens = { focalPixels: 1500, centreX: WIDTH / 2 + 8, centreY: HEIGHT / 2 - 5, radial: [-0.08, 0.01], mirrored: true };
    const { frames } = seeNight({ altitudeErrorArcmin: 12, azimuthErrorArcmin: -9, turnsDeg: [0, 35, 70], lens, stars: 800 });
    const blind = frames.map(
      (f) =>
        ({
          ...f, identification: { ...f.identification, lens: { ...lens, centreX: (WIDTH - 1) / 2, centreY: (HEIGHT - 1) / 2, radial: [] } },
        }),
    );
    const m = measureAxis(blind, 'true');
    expect(m.lens.radial[0]).toBeCloseTo(-0.08, 2);
    expect(Math.abs(m.lens.centreX - lens.centreX)).toBeLessThan(1.5);
    expect(Math.abs(m.fromTruePole.separation - seeSeparation(12, -9))).toBeLessThan(5 * ARCSECOND);
  });
});

function seeSeparation(altitudeArcmin: number, azimuthArcmin: number): number {
  const { axis, pole } = seeNight({ altitudeErrorArcmin: altitudeArcmin, azimuthErrorArcmin: azimuthArcmin, turnsDeg: [0] });
  return angleBetween(axis, pole);
}

describe('its sigma', () => {
  const misses = (turnsDeg: number[], sigmaPixels: number): { altitude: number[]; separation: number[] } => {
    const altitude: number[] = [];
    const separation: number[] = [];
    for (let seed = 1; seed <= 150; seed++) {
      const { frames, axis, pole } = seeNight({
        altitudeErrorArcmin: 6, azimuthErrorArcmin: -4, turnsDeg, seed, sigmaPixels, stars: 250, catalogueArcsec: 0.5,
      });
      const m: AxisMeasurement = measureAxis(frames, 'true');
      // The air of the test is exactly the formula's: take its share out again.
      const air = AIR_KNOWN * (m.fromTruePole.altitude - m.fromRefractedPole.altitude);
      const wobble = polarMotionSigma(frames[0]!.sky.time);
      const stars = Math.sqrt(Math.max(1e-20, m.sigma.altitude ** 2 - air ** 2 - wobble ** 2));
      altitude.push((m.fromTruePole.altitude / ARCMINUTE - 6) * ARCMINUTE / stars);
      const along = m.fromTruePole.altitude / m.fromTruePole.separation;
      const ofStars = Math.sqrt(Math.max(1e-20, m.sigma.separation ** 2 - (air * along) ** 2 - wobble ** 2));
      separation.push((m.fromTruePole.separation - angleBetween(axis, pole)) / ofStars);
    }
    return { altitude, separation };
  };
  const inside = (z: number[]): number => z.filter((v) => Math.abs(v) < 1).length / z.length;

  test.each([{ turns: [0, 10], sigma: 0.3 }, { turns: [0, 40, 80], sigma: 0.3 }, { turns: [0, 90], sigma: 0.5 }])(
    'holds the truth about two times in three, frames turned $turns', ({ turns, sigma }) => {
      const { altitude, separation } = misses(turns, sigma);
      // 150 nights: one sigma of the share is 4 %.
      expect(inside(altitude)).toBeGreaterThan(0.56);
      expect(inside(altitude)).toBeLessThan(0.81);
      expect(inside(separation)).toBeGreaterThan(0.56);
      expect(inside(separation)).toBeLessThan(0.81);
    });

  test('of the true pole takes the whole uncertainty of the air, of the refracted one hardly any', () => {
    const { frames } = seeNight({ altitudeErrorArcmin: 5, azimuthErrorArcmin: -7, turnsDeg: [0, 40, 80] });
    expect(measureAxis(frames, 'true').sigma.altitude / ARCSECOND).toBeGreaterThan(0.42);
    expect(measureAxis(frames, 'refracted').sigma.altitude / ARCSECOND).toBeLessThan(0.2);
  });
});

describe('refused are', () => {
  test('one frame', () => {
    const { frames } = seeNight({ altitudeErrorArcmin: 5, azimuthErrorArcmin: 5, turnsDeg: [0] });
    expect(codeOf(() => measureAxis(frames, 'true'))).toBe('too-few-frames');
  });

  test('frames with the drive off and no turn: the sky turned in the picture, the mount did not', () => {
    const { frames } = seeNight({ altitudeErrorArcmin: 5, azimuthErrorArcmin: 5, turnsDeg: [0, 0, 0], minutesApart: 30 });
    // The refused frames differ: the sky has turned by 7.5° between them.
    const [first, second] = frames.map(({ identification: { stars } }) => new Map(stars.map((m) => [m.catalogue, m.detection])));
    const moved = [...first!].flatMap(([star, p]) => {
      const q = second!.get(star);
      return q ? [Math.hypot(q.x - p.x, q.y - p.y)] : [];
    });
    expect(moved.length).toBeGreaterThan(10);
    expect(Math.max(...moved)).toBeGreaterThan(30);
    expect(codeOf(() => measureAxis(frames, 'true'))).toBe('no-rotation');
  });

  test('frames between which the declination was moved instead', () => {
    const { frames } = seeNight({
      altitudeErrorArcmin: 5, azimuthErrorArcmin: 5, turnsDeg: [0, 0],
      slips: [null, rotationAbout([1, 0, 0], 2 * DEGREE)],
      lens: { focalPixels: 4000, centreX: 599.5, centreY: 449.5, radial: [], mirrored: false }, stars: 600,
    });
    expect(codeOf(() => measureAxis(frames, 'true'))).toBe('no-rotation');
  });
});
