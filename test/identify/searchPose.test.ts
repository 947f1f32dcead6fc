import { describe, expect, it } from 'vitest';
import { identifyFrame } from '../../src/identify/identifyFrame.js';
import { ACCEPTED_ODDS } from '../../src/identify/chanceOdds.js';
import { type SearchMemory, searchPose, searchPoses } from '../../src/identify/searchPose.js';
import { makeSpots } from '../../src/identify/spots.js';
import { starCap } from '../../src/identify/starCap.js';
import { makeRandom } from '../../src/simulate/random.js';
import { type Hemisphere, makeLocalSky } from '../../src/sky/localSky.js';
import { realFarFields, uniformFarField } from './farFields.js';
import { type FieldPlan, SPOILS, half, poseDifference, simulateField } from './simulatedField.js';

const plain: FieldPlan = {
  hemisphere: 1, widthDeg: 1.5, fromPoleDeg: 1, width: 800, height: 600, depth: 80, spoil: SPOILS[0]!, cornerDistortion: 0, centreOff: 0,
  latitudeDeg: 50,
};

/** Fields of all kinds, made from the catalogue; the study beside this file counts many more. */
const kinds: readonly (readonly [string, Partial<FieldPlan>])[] = [
  ['a small field with nine stars in ten', { widthDeg: 0.7, depth: 30 }],
  ['a small field far from the pole', { widthDeg: 1, fromPoleDeg: 10 }],
  ['half of the stars hidden, half of the detections spurious', { spoil: SPOILS.find((s) => s.name === 'half')! }],
  ['a cloud over half of the picture', { widthDeg: 3, spoil: SPOILS.find((s) => s.name === 'cloud')! }],
  ['a tree line full of bright spots', { widthDeg: 3, depth: 200, spoil: SPOILS.find((s) => s.name === 'trees')! }],
  ['a chopped-up satellite trail', { widthDeg: 2, spoil: SPOILS.find((s) => s.name === 'trail')! }],
  ['a wide lens with 8 % distortion, its centre off', { widthDeg: 35, cornerDistortion: -0.08, centreOff: 0.02 }],
  ['a pole 10° up', { latitudeDeg: 10, widthDeg: 6 }],
  ['60 megapixels', { width: 9500, height: 6300, widthDeg: 4 }],
];

describe('search for the pose', () => {
  for (const [what, change] of kinds) {
    it(`finds ${what}, either pole, without a hint`, () => {
      for (const hemisphere of [1, -1] as const) {
        const plan = { ...plain, ...change, hemisphere };
        const field = simulateField(plan, makeRandom(`${what} ${hemisphere}`));
        const found = identifyFrame(field.detections, plan.width, plan.height, field.cap);
        expect(found).not.toBeNull();
        expect(poseDifference(field, plan.width, plan.height, found!.pose, found!.lens)).toBeLessThan(Math.max(3, 0.004 * plan.width));
        expect(found!.lens.mirrored).toBe(field.lens.mirrored);
        const truth = new Map(field.detections.map((d, i) => [d, field.truth[i]!]));
        expect(found!.stars.filter((s) => truth.get(s.detection) !== s.catalogue).length).toBeLessThanOrEqual(0.02 * found!.stars.length);
      }
    });
  }

  it('refuses six stars among six spurious ones', () => {
    for (let i = 0; i < 2; i++) {
      const field = simulateField({ ...plain, widthDeg: 1, depth: 6, spoil: { ...SPOILS[0]!, spurious: 0.5 } }, makeRandom(`six ${i}`));
      expect(identifyFrame(field.detections, 800, 600, field.cap)).toBeNull();
    }
  });

  it('gives up at once on three spots', () => {
    const field = simulateField(plain, makeRandom('three'));
    expect(searchPose(makeSpots(field.detections.slice(0, 3), 800, 600), field.cap, {}, new Map())).toBeNull();
    expect(identifyFrame([], 800, 600, field.cap)).toBeNull();
  });
});

describe('fields nowhere near a pole', () => {
  const caps = ([1, -1] as const).map((hemisphere) => starCap(half(hemisphere), makeLocalSky(new Date('2025-03-01T20:00:00Z'), null)));
  const memories: Record<Hemisphere, SearchMemory> = { 1: new Map(), [-1]: new Map() };

  it('are never accepted where the lens is known: a sample of the real ones', () => {
    const fields = realFarFields().filter((_, i) => i % 4 === 0);
    expect(fields).toHaveLength(250);
    let judged = 0;
    fields.forEach((field, i) => {
      const cap = caps[i % 2]!;
      const [centreX, centreY] = [(field.width - 1) / 2, (field.height - 1) / 2];
      const lens = { focalPixels: field.focalPixels, centreX, centreY, radial: [], mirrored: i % 4 < 2 };
      for (const pose of searchPoses(makeSpots(field.places, field.width, field.height), cap, { lens }, memories[i % 2 === 0 ? 1 : -1])) {
        if (!pose) continue;
        judged++;
        expect(pose.logOdds).toBeLessThan(Math.log(ACCEPTED_ODDS));
      }
    });
    // Chance matches come near the limit now and then, so that the limit was tested.
    expect(judged).toBeGreaterThan(12);
  });

  it('are never accepted in the search of all lenses: a sample of the real ones and of even scatter; the study does them all', () => {
    const real = realFarFields().filter((_, i) => i % 500 === 0);
    const even = Array.from({ length: 1 }, (_, i) => uniformFarField(makeRandom(`far test ${i}`)));
    [...real, ...even].forEach((field, i) => {
      const cap = caps[i % 2]!;
      expect(searchPose(makeSpots(field.places, field.width, field.height), cap, {}, memories[i % 2 === 0 ? 1 : -1])).toBeNull();
    });
  });
});
