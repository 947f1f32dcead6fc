import { describe, expect, it } from 'vitest';
import { ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { angleBetween, type Vector } from '../../src/geometry/vector.js';
import { makeSite } from '../../src/sky/site.js';
import { type NightPlan, ordinaryNight, starlight } from '../../src/simulate/nightPlan.js';
import { type NightFrame, frameTruth, planNight, renderFrame, renderNight } from '../../src/simulate/night.js';
import { catalogue } from './catalogue.js';

const site = makeSite({ latitudeDeg: 44.2, longitudeDeg: 9.5, elevationMetres: 300 });
const ordinary: NightPlan = { ...ordinaryNight(site, new Date('2026-11-25T20:00:00Z')), altitudeErrorArcmin: 12, azimuthErrorArcmin: -20 };
/** Only catalogue stars, nothing that disturbs them. */
const plain: NightPlan = {
  ...ordinary, uncataloguedDensity: 0, vignetting: 0, hotPixelsPerMillion: 0, magnitudeScatter: 0, fullWell: 1e9, electronsPerAdu: 0.02,
  skyElectrons: 0, biasAdu: 0,
};

/** Stars alone in a circle of this radius (pixels) and far from the edge. */
function lonely({ truth, image }: NightFrame, radius: number): number[] {
  const { count, x, y } = truth.stars;
  const all = Array.from({ length: count }, (_, i) => i);
  return all.filter((i) =>
    x[i]! > radius && y[i]! > radius && x[i]! < image.width - radius && y[i]! < image.height - radius &&
    all.every((k) => k === i || Math.hypot(x[k]! - x[i]!, y[k]! - y[i]!) > 2.5 * radius));
}

/** Light and centroid in a circle, values as stored. */
function moments({ image }: NightFrame, x0: number, y0: number, radius: number): { light: number; x: number; y: number } {
  let light = 0;
  let x = 0;
  let y = 0;
  for (let py = Math.ceil(y0 - radius); py <= y0 + radius; py++) {
    for (let px = Math.ceil(x0 - radius); px <= x0 + radius; px++) {
      if (Math.hypot(px - x0, py - y0) > radius) continue;
      const value = image.data[py * image.width + px]!;
      light += value;
      x += value * px;
      y += value * py;
    }
  }
  return { light, x: x / light, y: y / light };
}

describe('renderFrame', () => {
  it('puts catalogue stars at the centroids and with the light its truth says', () => {
    const frame = renderFrame(planNight({ ...plain, moffatBeta: 6 }, catalogue), 1, false);
    const stars = lonely(frame, 12).filter((i) => frame.truth.stars.electrons[i]! > 1000 && frame.truth.stars.electrons[i]! < 7000);
    expect(stars.length).toBeGreaterThan(8);
    for (const i of stars) {
      const { x, y, electrons } = frame.truth.stars;
      const found = moments(frame, x[i]!, y[i]!, 9);
      expect(Math.hypot(found.x - x[i]!, found.y - y[i]!)).toBeLessThan(0.01);
      // Light outside the circle and cut at the fringe: under 1 %.
      expect(found.light * 0.02 / electrons[i]!).toBeGreaterThan(0.99);
      expect(found.light * 0.02 / electrons[i]!).toBeLessThan(1.003);
    }
  });

  it('collects light in proportion to the catalogue magnitude, the aperture and the time', () => {
    const { stars } = frameTruth(planNight(plain, catalogue), 0);
    for (let i = 0; i < stars.count; i++) {
      const magnitude = catalogue.magnitudes[stars.catalogueIndex[i]!]!;
      expect(stars.electrons[i]! / (starlight(30) * 4 * 10 ** (-0.4 * magnitude))).toBeCloseTo(1, 6);
    }
    expect(starlight(60) / starlight(30)).toBeCloseTo(4, 12);
  });

  it('has the noise of its photons and its readout, in electrons', () => {
    for (const skyElectrons of [0.5, 9, 400]) {
      const plan = { ...plain, skyElectrons, readNoise: 3, electronsAtMagnitude0: 1e-9, electronsPerAdu: 0.5, biasAdu: 500 };
      const { image } = renderFrame(planNight(plan, catalogue), 0);
      const values = Float64Array.from(image.data, (value) => (value - 500) * 0.5);
      const mean = values.reduce((a, b) => a + b, 0) / values.length;
      const variance = values.reduce((a, b) => a + (b - mean) ** 2, 0) / values.length;
      expect(mean).toBeCloseTo(skyElectrons, 1);
      // Rounding to half electrons adds 1/48.
      expect(variance / (skyElectrons + 9 + 1 / 48)).toBeCloseTo(1, 1.9);
    }
  });

  it('keeps the rotation centre where it is while the pole turns about it', () => {
    for (const tracking of [true, false]) {
      const frames = [0, 1, 2].map(
        (frame) => frameTruth(planNight({ ...ordinary, tracking, rotationsDeg: [0, -40, 95] }, catalogue), frame),
      );
      const centres = frames.map(({ rotationCentre }) => rotationCentre!);
      const poles = frames.map(({ refractedPole }) => refractedPole!);
      for (let i = 1; i < 3; i++) {
        expect(centres[i]!.x).toBeCloseTo(centres[0]!.x, 8);
        expect(centres[i]!.y).toBeCloseTo(centres[0]!.y, 8);
      }
      const angle = (i: number): number => Math.atan2(poles[i]!.y - centres[i]!.y, poles[i]!.x - centres[i]!.x) / DEGREE;
      const tracked = tracking ? (40 / 86164.0905) * 360 : 0;
      // Near the middle of an undistorted field pixels keep angles, here to 0.01°; FITS pictures are upside down as stored,
      // so that a camera turned west shows the north turning the other way round.
      expect(angle(0) - angle(1)).toBeCloseTo(-40 + tracked, 1);
      expect(angle(0) - angle(2)).toBeCloseTo(95 + 2 * tracked, 1);
    }
  });

  it('mirrors the columns and nothing else', () => {
    const [right, mirrored] = [false, true].map((flag) => frameTruth(planNight({ ...plain, mirrored: flag }, catalogue), 0).stars);
    expect(mirrored!.count).toBe(right!.count);
    for (let i = 0; i < right!.count; i++) {
      expect(mirrored!.x[i]! + right!.x[i]!).toBeCloseTo(plain.width - 1, 8);
      expect(mirrored!.y[i]!).toBeCloseTo(right!.y[i]!, 8);
    }
  });

  it('trails stars by the turning of the sky when the drive is off, and hardly when it is on', () => {
    const long = { ...plain, exposureSeconds: 30, polarWobbleArcsec: 0 };
    const off = frameTruth(planNight({ ...long, tracking: false }, catalogue), 0);
    const on = frameTruth(planNight({ ...long, tracking: true }, catalogue), 0);
    const scale = off.lens.focalPixels * ARCSECOND;
    expect(off.stars.count).toBeGreaterThan(20);
    for (let i = 0; i < off.stars.count; i++) {
      const fromPole = Math.hypot(off.stars.x[i]! - off.refractedPole!.x, off.stars.y[i]! - off.refractedPole!.y);
      // 15.041″ a second at the equator.
      expect(off.stars.trail[i]!).toBeCloseTo(15.041 * 30 * scale * (fromPole / off.lens.focalPixels), 1);
    }
    // 19′ off the pole, 30 s are 2.5″ at most: half a pixel.
    expect(Math.max(...on.stars.trail)).toBeLessThan(0.5);
    expect(Math.max(...on.stars.trail)).toBeGreaterThan(0.3);
  });

  it('renders a trailed star as long as its trail, its centroid at mid-exposure', () => {
    const plan = {
      ...plain, tracking: false, exposureSeconds: 120, moffatBeta: 6, rotationsDeg: [0], width: 1200, height: 900, electronsPerAdu: 0.2,
    };
    const frame = renderFrame(planNight(plan, catalogue), 0, false);
    const { x, y, trail, electrons } = frame.truth.stars;
    const stars = lonely(frame, 22).filter((i) => trail[i]! > 5 && trail[i]! < 16 && electrons[i]! > 20000 && electrons[i]! < 1.5e5);
    expect(stars.length).toBeGreaterThan(3);
    for (const i of stars) {
      const found = moments(frame, x[i]!, y[i]!, 20);
      // The arc sags by trail²/8r, a third of which shifts the centroid: 0.02 px.
      expect(Math.hypot(found.x - x[i]!, found.y - y[i]!)).toBeLessThan(0.03);
      let spread = 0;
      for (let py = -20; py <= 20; py++) {
        for (let px = -20; px <= 20; px++) {
          const value = frame.image.data[(Math.round(y[i]!) + py) * plan.width + Math.round(x[i]!) + px]!;
          if (Math.hypot(px, py) <= 20) spread += (value * ((Math.round(x[i]!) + px - found.x) ** 2
            + (Math.round(y[i]!) + py - found.y) ** 2)) / found.light;
        }
      }
      // A segment of length L adds L²/12 to the second moment of the star itself, which for this Moffat is 2·α²/(2(β-2)).
      const alpha2 = (plan.fwhmPixels / 2) ** 2 / (2 ** (1 / 6) - 1);
      expect(Math.sqrt(12 * (spread - alpha2 / 4 - 1 / 6))).toBeCloseTo(trail[i]!, 0);
    }
  });

  it('is the same for the same seed, bit by bit, and another night for another', () => {
    const [a] = renderNight({ ...ordinary, rotationsDeg: [0] }, catalogue);
    const [b] = renderNight({ ...ordinary, rotationsDeg: [0] }, catalogue);
    const [c] = renderNight({ ...ordinary, rotationsDeg: [0], seed: 2 }, catalogue);
    const same = (one: NightFrame, other: NightFrame): boolean => one.image.data.every((value, i) => value === other.image.data[i]);
    expect(same(a!, b!)).toBe(true);
    expect(a!.truth).toEqual(b!.truth);
    expect(same(a!, c!)).toBe(false);
    expect(a!.truth.stars.x[0]).not.toBe(c!.truth.stars.x[0]);
  });

  it('has the same hot pixels in all frames', () => {
    const plan = { ...plain, electronsAtMagnitude0: 1e-9, hotPixelsPerMillion: 100, electronsPerAdu: 1, rotationsDeg: [0, 50] };
    const hot = renderNight(plan, catalogue).map(({ image }) => Array.from(image.data).flatMap((value, i) => (value > 60 ? [i] : [])));
    expect(hot[0]!.length).toBeGreaterThan(20);
    expect(hot[1]).toEqual(hot[0]);
  });
});

describe('planNight', () => {
  it('moves catalogue stars since 2000 by 8 to 30 mas a year', () => {
    const later = { ...plain, startUtc: new Date('2040-01-01T00:00:00Z'), width: 3000, height: 3000 };
    const { stars } = planNight(later, catalogue);
    const bright: number[] = [];
    const faint: number[] = [];
    for (let i = 0; i < stars.count; i++) {
      const index = stars.catalogueIndex[i]!;
      if (catalogue.coarse[index]) continue;
      const at = (d: Float64Array, k: number): Vector => [d[3 * k]!, d[3 * k + 1]!, d[3 * k + 2]!];
      const moved = angleBetween(at(stars.directions, i), at(catalogue.directions, index)) / ARCSECOND;
      const magnitude = catalogue.magnitudes[index]!;
      if (magnitude < 9) bright.push(moved);
      if (magnitude > 11 && magnitude < 11.5) faint.push(moved);
    }
    const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;
    expect(bright.length).toBeGreaterThan(20);
    // 40 years: 8 mas a year and the catalogue's 0.06″ make 0.33″ in each coordinate; brighter stars move more.
    expect(median(faint)).toBeGreaterThan(0.15);
    expect(median(faint)).toBeLessThan(0.6);
    expect(median(bright)).toBeGreaterThan(median(faint));
    expect(median(bright)).toBeLessThan(2);
  });

  it('continues the counts of the catalogue with stars that are not in it', () => {
    const { stars } = planNight({ ...ordinary, magnitudeScatter: 0 }, catalogue);
    const cumulative = (magnitude: number): number => stars.magnitudes.filter((m) => m < magnitude).length;
    const listed = stars.catalogueIndex.filter((index) => index >= 0).length;
    expect(listed).toBeGreaterThan(100);
    expect(stars.count).toBeGreaterThan(5 * listed);
    // Counts rise 2.5-fold a magnitude through the catalogue's end, within their chance.
    for (const magnitude of [10, 11, 12, 13]) {
      const ratio = cumulative(magnitude + 1) / cumulative(magnitude);
      expect(ratio).toBeGreaterThan(1.9);
      expect(ratio).toBeLessThan(3.3);
    }
  });

  it('fixes the stars of every frame, however far the mount is slewed', () => {
    const wide = { ...plain, pointingOffsetDeg: 6, rotationsDeg: [0, 120] };
    const seen = frameTruth(planNight(wide, catalogue), 1).stars;
    // A night that begins where the other ends, the mount's head as it was.
    const there = { ...wide, rotationsDeg: [120], startUtc: new Date(wide.startUtc.getTime() + 40_000), tracking: false };
    const expected = frameTruth(planNight({ ...there, rotationsDeg: [120 + (40 / 86164.0905) * 360] }, catalogue), 0).stars;
    expect(seen.count).toBeGreaterThan(20);
    const brightest = (stars: typeof seen): number[] =>
      Array.from(stars.catalogueIndex).filter((index) => catalogue.magnitudes[index]! < 11);
    expect(brightest(seen)).toEqual(brightest(expected));
  });
});
