import fc from 'fast-check';
import { expect, it } from 'vitest';
import { quickStarPass } from '../../../src/axis/kernel/quickStarPass.js';
import { type LensChoice, basesOf, layOut, modelAbout, movedModel } from '../../../src/axis/mountModel.js';
import { collectSightings } from '../../../src/axis/sightings.js';
import { type StarPass, plainStarPass } from '../../../src/axis/starPass.js';
import { seeNight } from '../sightings.js';

it('gives the same numbers as in JavaScript to the last bit, whatever the lens, the unknowns and the step before', () => {
  const number = (most: number): fc.Arbitrary<number> => fc.double({ min: -most, max: most, noNaN: true });
  fc.assert(fc.property(fc.record({
    seed: fc.nat(1e6), frames: fc.integer({ min: 2, max: 5 }), stars: fc.integer({ min: 6, max: 40 }), radialTerms: fc.nat(3),
    centre: fc.boolean(), tangential: fc.boolean(), lensKnown: fc.boolean(), mirrored: fc.boolean(), decentred: fc.boolean(),
    moved: fc.array(number(1e-6), { minLength: 40, maxLength: 40 }),
  }), (g) => {
    const turnsDeg = Array.from({ length: g.frames }, (_, k) => 25 * k);
    const night = seeNight({ altitudeErrorArcmin: 11, azimuthErrorArcmin: -17, turnsDeg, stars: g.stars, seed: g.seed });
    const sightings = collectSightings(
      night.frames.map(({ identification, sky }) => ({ stars: identification.stars, pole: sky.refractedPole(1) })),
    );
    const choice: LensChoice = { radialTerms: g.radialTerms, centre: g.centre, tangential: g.tangential, lensKnown: g.lensKnown };
    const start = modelAbout(night.axis, night.frames.map(({ identification }) => identification.pose), {
      ...night.frames[0]!.identification.lens, radial: [0.01, -0.02, 0.03].slice(0, g.radialTerms), mirrored: g.mirrored,
      ...(g.decentred ? { tangential: [2e-4, -3e-4] as const } : {}),
    });
    const layout = layOut(start, choice);
    const offsets = new Float64Array(2 * sightings.sigma.length).map((_, k) => 1e-7 * Math.sin(k));
    const passes = (pass: StarPass): unknown => {
      let model = start;
      const seen: unknown[] = [];
      for (const told of [false, false, true]) {
        const bases = basesOf(model);
        const cost = pass.run(model, bases, told);
        seen.push({
          cost, normal: [...pass.normal], right: [...pass.right], shown: [...pass.shown], sums: [...pass.sums], offsets: [...pass.offsets],
        });
        expect(cost).toBeGreaterThanOrEqual(0);
        const step = Float64Array.from({ length: layout.size }, (_, k) => g.moved[k]!);
        pass.moveOffsets(step);
        model = movedModel(model, bases, step, layout);
      }
      return seen;
    };
    const quick = quickStarPass(sightings, layout, offsets);
    expect(quick).not.toBeNull();
    expect(passes(quick!)).toEqual(passes(plainStarPass(sightings, layout, offsets)));
  }), { numRuns: 60 });
});
