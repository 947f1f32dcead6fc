import { describe, expect, it } from 'vitest';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { apply, axisAndAngle, compose, inverse } from '../../src/geometry/rotation.js';
import { type Vector, fromSpherical } from '../../src/geometry/vector.js';
import { type PoseFit, fitPose } from '../../src/identify/fitPose.js';
import { toPixel } from '../../src/identify/lens.js';
import { readHdus } from '../../src/frames/fitsHdu.js';
import { axisDirection, axisPlace, cameraPose, elevatedPole } from '../../src/simulate/mount.js';
import { type NightPlan, type Shift, ordinaryNight } from '../../src/simulate/nightPlan.js';
import { planLens } from '../../src/simulate/night.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { type SkyFolder, type SkyFrameTruth, skyFolders, skyFrameBytes, skyTruth } from '../skies.js';

/** What our mount and camera give for the plan in truth.json; where the camera points is found from its stars. */
function planOf(folder: SkyFolder): NightPlan {
  const truth = skyTruth(folder);
  const [hdu] = readHdus(Buffer.from(skyFrameBytes(folder, 'frame-1.fits')), folder);
  const [width, height] = hdu!.axes as [number, number];
  const starts = truth.frames.map((frame) => Date.parse(`${frame.startUtc}Z`));
  // The truth lists the knob turns so far, a frame's last one having been made before it.
  const shifts = truth.frames.flatMap((frame, beforeFrame): Shift[] => {
    const before = truth.frames[beforeFrame - 1]?.knobsTurnedSoFar.length ?? 0;
    const turned = frame.knobsTurnedSoFar.slice(before) as { altitudeArcmin: number; azimuthEastArcmin: number }[];
    return turned.map((knob) => ({ beforeFrame, altitudeArcmin: knob.altitudeArcmin, azimuthArcmin: knob.azimuthEastArcmin }));
  });
  return {
    ...ordinaryNight(makeSite(truth.site), new Date(starts[0]!)),
    exposureSeconds: truth.frames[0]!.exposureSeconds,
    intervalSeconds: (starts[1]! - starts[0]!) / 1000,
    altitudeErrorArcmin: truth.axisFromTruePole.altitudeArcmin,
    azimuthErrorArcmin: truth.axisFromTruePole.azimuthArcmin,
    rotationsDeg: truth.frames.map((frame) => frame.raRotationDeg),
    tracking: truth.tracking,
    shifts,
    focalLengthMillimetres: truth.focalLengthMillimetres,
    pixelSizeMicrometres: truth.pixelMicrometres,
    width,
    height,
    mirrored: truth.mirrored,
  };
}

/** Pose (camera -> local) and lens of a frame, fitted to where its truth has the stars: no use of its axis or its rotation. */
function fitFrame(plan: NightPlan, frame: SkyFrameTruth): PoseFit {
  const sky = makeLocalSky(new Date(Date.parse(`${frame.startUtc}Z`) + plan.exposureSeconds * 500), plan.site);
  const directions = Float64Array.from(frame.stars.flatMap((s) => [...fromSpherical(s.raDeg * DEGREE, s.decDeg * DEGREE)]));
  const matches = {
    count: frame.stars.length,
    directions: sky.toLocalAll(directions),
    x: Float64Array.from(frame.stars, (star) => star.x),
    y: Float64Array.from(frame.stars, (star) => star.y),
    sigma: new Float64Array(frame.stars.length).fill(0.05),
  };
  const enough = frame.stars.length > 50;
  let best: PoseFit | null = null;
  for (let rollDeg = 0; rollDeg < 360; rollDeg += 15) {
    const guess = cameraPose({ ...plan, shifts: [], rollDeg, pointingOffsetDeg: 0 }, 0, 0);
    const rough = fitPose(matches, guess, planLens(plan), { focal: true, radialTerms: 0, iterations: 40, robust: 100 });
    const fit = rough && fitPose(matches, rough.pose, rough.lens, { focal: true, radialTerms: enough ? 1 : 0, iterations: 40, robust: 5 });
    if (fit && (!best || fit.rms < best.rms)) best = fit;
  }
  if (!best) throw new Error(`${frame.file} can't be fitted`);
  return best;
}

/** Pixel of a local direction. */
function see({ lens, pose }: PoseFit, direction: Vector): { x: number; y: number } {
  const pixel = toPixel(lens, apply(inverse(pose), direction));
  if (!pixel) throw new Error('behind the camera');
  return pixel;
}

/** Turn that the fitted poses show beyond what our mount makes of the plan, from frame 0 to `frame`, radians. */
function unexplainedTurn(plan: NightPlan, fits: readonly PoseFit[], frame: number): number {
  const seen = compose(fits[frame]!.pose, inverse(fits[0]!.pose));
  const middle = plan.exposureSeconds / 2;
  const ours = compose(
    cameraPose(plan, frame, frame * plan.intervalSeconds + middle),
    inverse(cameraPose(plan, 0, middle)),
  );
  return axisAndAngle(compose(seen, inverse(ours))).angle;
}

describe.each(skyFolders)('the frames of another renderer, %s', (folder) => {
  const truth = skyTruth(folder);
  const plan = planOf(folder);
  const fits = truth.frames.map((frame) => fitFrame(plan, frame));

  it('have the axis of our mount and the refracted pole on the pixels their truth gives, within 0.5', () => {
    truth.frames.forEach((frame, i) => {
      // Absent once a knob was turned, and with the slip.
      if (!(frame.axisPixel as unknown)) return;
      const axis = see(fits[i]!, axisDirection(axisPlace(plan, i)));
      const pole = see(fits[i]!, makeLocalSky(plan.startUtc, plan.site).refractedPole(elevatedPole(plan.site.latitude)));
      expect(Math.hypot(axis.x - frame.axisPixel[0], axis.y - frame.axisPixel[1])).toBeLessThan(0.5);
      expect(Math.hypot(pole.x - frame.refractedPolePixel[0], pole.y - frame.refractedPolePixel[1])).toBeLessThan(0.5);
    });
  });

  it('turn as our mount does: west positive, tracking, knobs', () => {
    // The roll about the line of sight is the weakest: 0.1 px at 400 px from the middle is 50″. A wrong sign makes degrees.
    const tolerance = 60 * ARCSECOND;
    truth.frames.forEach((frame, i) => {
      if (frame.declinationSlipArcmin === 0) expect(unexplainedTurn(plan, fits, i)).toBeLessThan(tolerance);
      else expect(unexplainedTurn(plan, fits, i) / ARCMINUTE).toBeCloseTo(frame.declinationSlipArcmin, 1);
    });
  });
});
