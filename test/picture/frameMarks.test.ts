import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { axisWithError } from '../../src/axis/axisError.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { ARCMINUTE, DEGREE } from '../../src/geometry/angle.js';
import { apply, compose, fromRotationVector, inverse } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween } from '../../src/geometry/vector.js';
import { type SeenFrame, frameMarks } from '../../src/picture/frameMarks.js';
import { knobMove } from '../../src/picture/knobMove.js';
import { type Place, type Point, pixelOf } from '../../src/picture/onSensor.js';
import { readMarks } from '../../src/picture/readMarks.js';
import { cameraPose } from '../../src/simulate/mount.js';
import { planLens, planNight, renderFrame } from '../../src/simulate/night.js';
import { type NightPlan, ordinaryNight } from '../../src/simulate/nightPlan.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';

/** Invented sites, one in each hemisphere. */
const NORTH = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });
const SOUTH = makeSite({ latitudeDeg: -33.4, longitudeDeg: 149.1, elevationMetres: 800 });
const TIME = new Date('2026-11-25T20:00:00Z');

function plan(change: Partial<NightPlan>, site = NORTH): NightPlan {
  return { ...ordinaryNight(site, TIME), rotationsDeg: [70], ...change };
}

/** A frame with the exact pose and lens of its plan. */
function seenFrame(night: NightPlan): SeenFrame {
  const sky = makeLocalSky(new Date(night.startUtc.getTime() + 500 * night.exposureSeconds), night.site);
  const { width, height } = night;
  return {
    file: 'frame.fits', width, height, firstRowBottom: true, lens: planLens(night), pose: cameraPose(night, 0, night.exposureSeconds / 2),
    sky, stars: [],
  };
}

function at(place: Place): Point {
  if (!('at' in place)) throw new Error('off the sensor');
  return place.at;
}

describe('where a star must go', () => {
  // The mount of simulate/ is turned by its own knobs, and the frame it then takes is rendered: the star must be where the marks
  // of the frame before said. No interval between the frames, so that nothing else has moved.
  for (const [name, site, change] of [
    ['in the north', NORTH, { altitudeErrorArcmin: 22, azimuthErrorArcmin: -31 }],
    ['in the south', SOUTH, { altitudeErrorArcmin: -17, azimuthErrorArcmin: 25 }],
    ['in a mirrored frame', NORTH, { altitudeErrorArcmin: 14, azimuthErrorArcmin: 20, mirrored: true }],
    ['with degrees of error', NORTH, { altitudeErrorArcmin: 150, azimuthErrorArcmin: -210, focalLengthMillimetres: 50 }],
  ] as const) {
    it(`is where the moved mount of the simulation shows it, ${name}`, () => {
      const night = plan({ ...change, rotationsDeg: [70, 70], intervalSeconds: 0, pointingOffsetDeg: 0.2,
        shifts: [{ beforeFrame: 1, altitudeArcmin: -change.altitudeErrorArcmin, azimuthArcmin: -change.azimuthErrorArcmin }] }, site);
      const hemisphere = site.latitude > 0 ? 1 : -1;
      const rendered = planNight(night, embeddedCatalogue());
      const [before, after] = [renderFrame(rendered, 0).truth, renderFrame(rendered, 1).truth];
      const frame = seenFrame(night);
      const axis = axisWithError(
        frame.sky.truePole(hemisphere), change.altitudeErrorArcmin * ARCMINUTE, change.azimuthErrorArcmin * ARCMINUTE,
      );
      let compared = 0;
      for (let i = 0; i < before.stars.count && compared < 20; i++) {
        const star = before.stars.catalogueIndex[i]!;
        const later = after.stars.catalogueIndex.indexOf(star);
        if (star < 0 || later < 0) continue;
        const { directions } = embeddedCatalogue();
        const icrs: Vector = [directions[3 * star]!, directions[3 * star + 1]!, directions[3 * star + 2]!];
        const marks = frameMarks(
          frame, { axis, aim: 'true', hemisphere, separationArcmin: 1, sigmaArcmin: 0.01 }, [],
          { name: 'a star', direction: frame.sky.toLocal(icrs) },
        );
        const now = at(marks.star!.now), goal = at(marks.star!.goal);
        expect(Math.hypot(goal[0] - after.stars.x[later]!, goal[1] - after.stars.y[later]!)).toBeLessThan(1);
        // The simulation's stars have moved since the catalogue, by tenths of a pixel; the way they go is the same.
        const went = [after.stars.x[later]! - before.stars.x[i]!, after.stars.y[later]! - before.stars.y[i]!];
        expect(Math.hypot(goal[0] - now[0] - went[0]!, goal[1] - now[1] - went[1]!)).toBeLessThan(0.03);
        compared++;
      }
      expect(compared).toBeGreaterThan(4);
    });
  }
  it('lies as far from the rotation centre as it now lies from the pole: one rigid turn takes both', () => {
    fc.assert(fc.property(fc.double({ min: -60, max: 60, noNaN: true }), fc.double({ min: -60, max: 60, noNaN: true }), fc.constantFrom(
      NORTH, SOUTH,
    ), (up, east, site) => {
      const frame = seenFrame(plan({}, site));
      const hemisphere = site.latitude > 0 ? 1 : -1;
      const pole = frame.sky.refractedPole(hemisphere);
      const axis = axisWithError(pole, up * ARCMINUTE, east * ARCMINUTE);
      const move = knobMove(axis, pole);
      expect(angleBetween(apply(move.rotation(1, 1), axis), pole)).toBeLessThan(1e-12);
      expect(angleBetween(move.axis(1, 1), pole)).toBeLessThan(1e-12);
      const star: Vector = apply(fromRotationVector([0.01, -0.004, 0.006]), pole);
      const shows = apply(inverse(move.rotation(1, 1)), star);
      expect(angleBetween(shows, axis)).toBeCloseTo(angleBetween(star, pole), 12);
    }));
  });
  it('comes out the same whichever knob is turned first', () => {
    const frame = seenFrame(plan({}));
    const pole = frame.sky.truePole(1);
    const axis = axisWithError(pole, 40 * ARCMINUTE, -70 * ARCMINUTE);
    const move = knobMove(axis, pole);
    // Altitude first, then azimuth about the vertical: the same rotation.
    const other = compose(move.rotation(1, 0), move.rotation(0, 1));
    move.rotation(1, 1).forEach((v, i) => expect(v).toBeCloseTo(other[i]!, 14));
  });
});

describe('marks', () => {
  const axisOf = (frame: SeenFrame, up: number, east: number): Parameters<typeof frameMarks>[1] => ({
    axis: axisWithError(frame.sky.refractedPole(1), up * ARCMINUTE, east * ARCMINUTE), aim: 'refracted', hemisphere: 1,
    separationArcmin: 10, sigmaArcmin: 0.01,
  });
  it('lead from the rotation centre to the pole, by the azimuth knob first', () => {
    const frame = seenFrame(plan({ pointingOffsetDeg: 0 }));
    const { path, rotationCentre, pole } = frameMarks(frame, axisOf(frame, 12, -20), []);
    expect(path.map((leg) => leg.knob)).toEqual(['azimuth', 'altitude']);
    expect(path[0]!.points[0]).toEqual(at(rotationCentre));
    expect(path[1]!.points.at(-1)).toEqual(at(pole));
    expect(path[0]!.points.at(-1)).toEqual(path[1]!.points[0]);
  });
  it('of what lies off the sensor are an edge point on the way there and the angle that is left', () => {
    fc.assert(fc.property(fc.double({ min: 3, max: 170, noNaN: true }), fc.double({ min: 0, max: 360, noNaN: true }), (
      offset, direction,
    ) => {
      const frame = seenFrame(plan({
        pointingOffsetDeg: offset, pointingDirectionDeg: direction, altitudeErrorArcmin: 0, azimuthErrorArcmin: 0,
      }));
      const { pole } = frameMarks(frame, axisOf(frame, 0, 0), []);
      if (!('edge' in pole)) throw new Error('on the sensor');
      const [x, y] = pole.edge;
      expect(Math.min(
        Math.abs(x + 0.5), Math.abs(x - frame.width + 0.5), Math.abs(y + 0.5), Math.abs(y - frame.height + 0.5),
      )).toBeLessThan(0.02);
      // Edge and pole lie on a great circle through the middle, so the way to the edge and the rest add up.
      const middle = apply(frame.pose, [0, 0, 1]);
      const toEdge = Math.atan(Math.hypot(x - frame.lens.centreX, y - frame.lens.centreY) / frame.lens.focalPixels);
      expect(toEdge + pole.beyondArcmin * ARCMINUTE).toBeCloseTo(angleBetween(middle, frame.sky.refractedPole(1)), 4);
      const outward = [x - frame.lens.centreX, y - frame.lens.centreY];
      expect((outward[0]! * pole.heading[0] + outward[1]! * pole.heading[1]) / Math.hypot(...outward)).toBeGreaterThan(0.999);
    }));
  });
  it('point north along the way to the pole, and up against the pull of the horizon', () => {
    const frame = seenFrame(plan({ pointingOffsetDeg: 1, altitudeErrorArcmin: 0, azimuthErrorArcmin: 0 }));
    const { north, east, up } = frameMarks(frame, axisOf(frame, 0, 0), []);
    const middle: Point = [(frame.width - 1) / 2, (frame.height - 1) / 2];
    const pole = pixelOf(frame, frame.sky.truePole(1))!;
    const way = [pole[0] - middle[0], pole[1] - middle[1]];
    expect((way[0]! * north![0] + way[1]! * north![1]) / Math.hypot(...way)).toBeGreaterThan(0.9999);
    expect(Math.abs(north![0] * east![0] + north![1] * east![1])).toBeLessThan(1e-3);
    // A step that way looks higher in the sky.
    const higher = apply(frame.pose, [0, 0, 1])[2];
    const step = 30;
    const seen = frame.lens;
    const pixel = { x: middle[0] + step * up![0], y: middle[1] + step * up![1] };
    const sign = seen.mirrored ? -1 : 1;
    const there = apply(frame.pose, [sign * (pixel.x - seen.centreX) / seen.focalPixels, (pixel.y - seen.centreY) / seen.focalPixels, 1]);
    expect(there[2] / Math.hypot(...there)).toBeGreaterThan(higher);
  });
  it('turn east left of north as the sky has it, right of it in a frame the viewers show mirrored', () => {
    for (const mirrored of [false, true]) {
      const frame = seenFrame(plan({ pointingOffsetDeg: 1, mirrored }));
      const { north, east } = frameMarks(frame, axisOf(frame, 3, 3), []);
      // Shown with the first row at the bottom: y runs up.
      const turn = north![0] * east![1] - north![1] * east![0];
      expect(Math.sign(turn)).toBe(mirrored ? -1 : 1);
    }
  });
  it('have a scale bar as long as it says', () => {
    const frame = seenFrame(plan({}));
    const { bar, scaleArcsecPerPixel } = frameMarks(frame, axisOf(frame, 3, 3), []);
    const says = Number(/^\d+/.exec(bar.says)![0]) * (bar.says.endsWith('″') ? 1 : bar.says.endsWith('′') ? 60 : 3600);
    expect(bar.pixels * scaleArcsecPerPixel / says).toBeCloseTo(1, 3);
    expect(bar.pixels).toBeLessThanOrEqual(0.25 * frame.width);
  });
  it('name no knob without a site', () => {
    const frame = { ...seenFrame(plan({})), sky: makeLocalSky(TIME, null) };
    const marks = frameMarks(
      frame,
      {
        axis: [0, Math.sin(10 * ARCMINUTE), Math.cos(10 * ARCMINUTE)], aim: 'refracted', hemisphere: 1, separationArcmin: 10,
        sigmaArcmin: 0.1,
      },
      [],
    );
    expect(marks.path.map((leg) => leg.knob)).toEqual([null]);
    expect([marks.star, marks.up]).toEqual([null, null]);
  });
  it('read back from JSON as they were, and not at all once a part is missing', () => {
    const frame = seenFrame(plan({ pointingOffsetDeg: 2 }));
    const marks = frameMarks(
      { ...frame, stars: [{ x: 1, y: 2, magnitude: 6, direction: frame.sky.refractedPole(1), name: null }] },
      axisOf(frame, 30 / DEGREE * DEGREE, 3), [],
    );
    const kept = JSON.parse(JSON.stringify(marks)) as Record<string, unknown>;
    expect(readMarks(kept)).toEqual(marks);
    for (const key of Object.keys(kept)) expect(readMarks({ ...kept, [key]: undefined }), key).toBeNull();
    fc.assert(fc.property(fc.jsonValue(), (value) => { expect(readMarks(value)).toBeNull(); }));
  });
});
