import fc from 'fast-check';
import { expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { compose, rotationAbout } from '../../src/geometry/rotation.js';
import { fromIcrs, toIcrs } from '../../src/identify/icrsPose.js';
import { makeLocalSky } from '../../src/sky/localSky.js';

const angle = fc.double({ min: -180, max: 180, noNaN: true });
const somePose = fc.tuple(angle, angle, angle).map(([a, b, c]) =>
  compose(rotationAbout([0, 0, 1], a * DEGREE), compose(rotationAbout([0, 1, 0], b * DEGREE), rotationAbout([0, 0, 1], c * DEGREE))));

it('a pose relative to ICRS looks along what the camera sees', () => {
  const sky = makeLocalSky(new Date('2026-02-03T21:00:00Z'), null);
  fc.assert(fc.property(somePose, (pose) => {
    const icrs = toIcrs(sky, pose);
    const axis = sky.fromLocal([pose[2], pose[5], pose[8]]);
    expect(Math.hypot(icrs[2] - axis[0], icrs[5] - axis[1], icrs[8] - axis[2])).toBeLessThan(1e-12);
    fromIcrs(sky, icrs).forEach((v, k) => expect(v).toBeCloseTo(pose[k]!, 6));
    // A turn, not a mirror image.
    const [a, b, c, d, e, f, g, h, i] = icrs;
    expect(a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)).toBeCloseTo(1, 9);
  }), { numRuns: 50 });
});
