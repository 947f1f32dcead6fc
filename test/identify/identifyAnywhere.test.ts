import { describe, expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { compose, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, fromSpherical } from '../../src/geometry/vector.js';
import { ACCEPTED_ODDS } from '../../src/identify/chanceOdds.js';
import {
  type PlaceHints, type Recognised, type SkyMemory, emptySkyMemory, identifyAnywhere,
} from '../../src/identify/identifyAnywhere.js';
import { toIcrs } from '../../src/identify/icrsPose.js';
import { partsFrom, searchSky } from '../../src/identify/searchSky.js';
import { atOnce } from '../../src/numeric/steps.js';
import { makeSpots } from '../../src/identify/spots.js';
import { makeRandom } from '../../src/simulate/random.js';
import { type LocalSky, makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { type AnywherePlan, SPOILS, type SimulatedField, poseDifference, simulateAnywhere, sky, wholeCatalogue } from './simulatedField.js';
import { shuffled } from './shuffled.js';

const plain: AnywherePlan = {
  widthDeg: 4, fromPoleDeg: 0, width: 1280, height: 960, depth: 100, spoil: SPOILS[1]!, cornerDistortion: 0, centreOff: 0,
};
const local = makeLocalSky(new Date('2026-02-03T21:00:00Z'), null);

function identify(
  field: SimulatedField, plan: AnywherePlan, hints: PlaceHints, at: LocalSky = local, memory: SkyMemory = emptySkyMemory(),
): Recognised | null {
  return atOnce(identifyAnywhere(field.detections, plan.width, plan.height, wholeCatalogue, at, hints, memory));
}

function expectRight(found: Recognised | null, field: SimulatedField, plan: AnywherePlan): void {
  expect(found).not.toBeNull();
  const { pose, lens, stars } = found!.identification;
  expect(poseDifference(field, plan.width, plan.height, pose, lens)).toBeLessThan(Math.max(3, 0.004 * plan.width));
  expect(lens.mirrored).toBe(field.lens.mirrored);
  const truth = new Map(field.detections.map((d, i) => [d, field.truth[i]!]));
  expect(stars.filter((s) => truth.get(s.detection) !== s.catalogue).length).toBeLessThanOrEqual(0.03 * stars.length);
}

const towards = (raDeg: number, decDeg: number): Vector => fromSpherical(raDeg * DEGREE, decDeg * DEGREE);

describe('identification anywhere, where nothing is known', () => {
  const memory = emptySkyMemory();
  for (const [what, raDeg, decDeg, change] of [
    ['a lens of 12° on the equator, at right ascension zero', 0, 0, { widthDeg: 12 }],
    ['half of the stars hidden, half of the detections spurious, in 20°', 83, -5, { widthDeg: 20, depth: 150, spoil: SPOILS[2]! }],
    ['a cloud over half of 30°', 200, 45, { widthDeg: 30, depth: 200, spoil: SPOILS[3]! }],
    ['55° with a distortion of 6 %', 310, -30, { widthDeg: 55, depth: 150, cornerDistortion: -0.06 }],
    ['35° over a pole', 10, 85, { widthDeg: 35, depth: 120 }],
  ] as const) {
    it(`finds ${what}`, () => {
      const plan = { ...plain, ...change };
      const field = simulateAnywhere(plan, towards(raDeg, decDeg), local, makeRandom(what));
      expectRight(identify(field, plan, {}, local, memory), field, plan);
    });
  }
});

describe('identification anywhere, with a hint', () => {
  it('finds a telescope field from its scale and a place 4° off, a narrow one with six stars in it, too', () => {
    for (const [widthDeg, depth, spoil] of [[1.5, 40, SPOILS[1]!], [0.7, 6, { ...SPOILS[0]!, spurious: 0 }]] as const) {
      const plan = { ...plain, widthDeg, depth, spoil };
      const field = simulateAnywhere(plan, towards(290, 12), local, makeRandom(`hint ${widthDeg}`));
      expect(field.real).toBeGreaterThanOrEqual(6);
      const found = identify(field, plan, { focalPixels: 1.03 * field.lens.focalPixels, places: [towards(292, 15.5)], only: true });
      expectRight(found, field, plan);
      expect(found!.by).toBe('place');
    }
  });

  it('is not misled by a place that is wrong by 90°, nor by a focal length that is wrong by a third', () => {
    const plan = { ...plain, widthDeg: 14 };
    const field = simulateAnywhere(plan, towards(120, 20), local, makeRandom('misled'));
    const { focalPixels } = field.lens;
    for (const hints of [{ places: [towards(210, 20)], focalPixels }, { focalPixels: 1.33 * focalPixels }]) {
      const found = identify(field, plan, hints);
      expectRight(found, field, plan);
      expect(found!.by).toBe('sky');
    }
  });

  it('finds the second frame with the lens and near the place of the first', () => {
    const plan = { ...plain, widthDeg: 5 };
    const memory = emptySkyMemory();
    const lens = simulateAnywhere(plan, towards(150, -40), local, makeRandom('first')).lens;
    const field = simulateAnywhere(plan, towards(156, -42), local, makeRandom('first'));
    const found = identify(field, plan, { lens, places: [towards(150, -40)] }, local, memory);
    expectRight(found, field, plan);
    expect(found!.by).toBe('place');
    expect(memory.regions.size).toBeGreaterThan(0);
  });
});

describe('a frame that is nearly recognised, and one after a turn in right ascension', () => {
  const plan = { ...plain, widthDeg: 6, depth: 9, spoil: { ...SPOILS[0]!, spurious: 0 } };
  const field = simulateAnywhere(plan, towards(100, 30), local, makeRandom('turned'));
  const near = { lens: field.lens, places: [towards(101, 31)], only: true };

  it('is told as the likeliest pose only if that is asked for', () => {
    // Five stars, and those by two pixels off.
    const off = [[1, -1], [-1, 1], [1, 1], [-1, -1], [1, 0]] as const;
    const few = { ...field, detections: off.map(([x, y], k) => {
      const star = field.detections[k]!;
      return { ...star, x: star.x + 1.5 * x, y: star.y + 1.5 * y };
    }) };
    expect(identify(few, plan, near)).toBeNull();
    const found = identify(few, plan, { ...near, suppose: true });
    expectRight(found, few, plan);
    expect(found!.lacking).toBeGreaterThan(0);
  });

  it('is borne out by the other, which must show what the first lacks', () => {
    const { identification, sky: seen } = identify(field, plan, near)!;
    const before = compose(rotationAbout([0, 0, 1], 40 * DEGREE), toIcrs(seen, identification.pose));
    const hints = { lens: field.lens, turnedFrom: before, part: 'turned' } as const;
    expectRight(identify(field, plan, { ...hints, lacking: 3 }), field, plan);
    expect(identify(field, plan, { ...hints, lacking: 200 })).toBeNull();
  });
});

describe('identification over a site', () => {
  const site = makeSite({ latitudeDeg: 48, longitudeDeg: 11, elevationMetres: 500 });
  const over = makeLocalSky(local.time, site);

  it('gives directions as the air lifts them, 17° above the horizon', () => {
    const plan = { ...plain, widthDeg: 16 };
    const low: Vector = [Math.cos(17 * DEGREE), 0, Math.sin(17 * DEGREE)];
    const field = simulateAnywhere(plan, over.fromLocal(low), over, makeRandom('low'));
    const found = identify(field, plan, { focalPixels: field.lens.focalPixels }, over);
    expectRight(found, field, plan);
    expect(found!.sky.site).toBe(site);
  });

  it('recognises what the horizon hides, and tells so by a sky without a site', () => {
    const plan = { ...plain, widthDeg: 20 };
    const field = simulateAnywhere(plan, over.fromLocal([0.6, 0, -0.8]), local, makeRandom('below'));
    const found = identify(field, plan, { focalPixels: field.lens.focalPixels }, over);
    expectRight(found, field, plan);
    expect(found!.sky.site).toBeNull();
  });
});

describe('pictures of shuffled stars', () => {
  it('are never accepted: a sample, 11° to 50° wide, the scale known; the study does a thousand', () => {
    const widths = [11, 17, 26, 50];
    let judged = 0;
    for (let i = 0; i < 4; i++) {
      const random = makeRandom(`shuffled ${i}`);
      const plan = { ...plain, widthDeg: widths[i % 4]!, depth: 60, spoil: SPOILS[0]! };
      const field = simulateAnywhere(plan, towards(360 * random.uniform(), 90 * (2 * random.uniform() - 1)), local, random);
      const focalPixels = plan.width / 2 / Math.tan((plan.widthDeg / 2) * DEGREE);
      const spots = makeSpots(shuffled(field, random), plan.width, plan.height);
      for (const pose of searchSky(spots, sky, local, { focalPixels }, partsFrom([0, 0, 1]))) {
        if (!pose) continue;
        judged++;
        expect(pose.logOdds).toBeLessThan(Math.log(ACCEPTED_ODDS));
      }
    }
    // Chance matches come near the limit now and then, so that the limit was tested.
    expect(judged).toBeGreaterThan(0);
  });
});

describe('the work', () => {
  it('goes in many steps, so that it can be left at any of them', () => {
    const random = makeRandom('steps');
    const places = Array.from({ length: 40 }, () => ({ x: 1280 * random.uniform(), y: 960 * random.uniform() }));
    const detections = places.map((p) => ({
      ...p, sigma: 0.1, flux: 1, signalToNoise: 20, fwhm: 2.5, elongation: 1, saturated: false, blended: false,
    }));
    const steps = identifyAnywhere(detections, 1280, 960, wholeCatalogue, local, {}, emptySkyMemory());
    for (let n = 0; n < 200; n++) expect(steps.next().done).toBe(false);
  });

  it('is none where there are fewer than four spots', () => {
    expect(identify({ detections: [], truth: new Int32Array(0) } as unknown as SimulatedField, plain, {})).toBeNull();
  });
});
