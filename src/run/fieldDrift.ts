import { apply, inverse } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import { toDirection, toPixel } from '../identify/lens.js';
import type { FieldGeometry } from './cameraTurns.js';
import { onMount } from './misalignedMount.js';
import { fitPlane } from './planeFit.js';
import type { RegisteredField } from './registerField.js';
import { type Trend, fitTrend, stretchesOf } from './series.js';

/** How a field moves in the picture while it is tracked. */
export interface FieldDrift {
  /** Indexes of the field's frames, in order of time. */
  readonly frames: readonly number[];
  /** Since the first of them. */
  readonly seconds: readonly number[];
  /** Of the stars in the picture's middle, pixels a second along x and y. */
  readonly x: Trend;
  readonly y: Trend;
  /** Radians a second, from x toward y. */
  readonly rotation: Trend;
  /** Number of the stretch between steps for every frame of the list. */
  readonly stretches: readonly number[];
  readonly steps: number;
  /** Largest step, pixels. */
  readonly largestStep: number;
}

/** A smaller move of the field between two frames was not on purpose, pixels. */
const LEAST_STEP = 3;
/** Usual scatter, pixels and radians, where nothing else is known. */
const USUAL_PIXELS = 0.3;
const USUAL_ROTATION = 5e-6;

/**
 * Drift and rotation of a registered field as straight lines in time, with steps where it was moved.
 *
 * @param times of the frames, milliseconds
 * @returns null with fewer than two frames, or all at one time
 */
export function fieldDrift(field: RegisteredField, times: readonly number[], usualPixels = USUAL_PIXELS): FieldDrift | null {
  const frames = field.frames.flatMap((f, i) => (f ? [i] : [])).sort((a, b) => times[a]! - times[b]!);
  const start = times[frames[0] ?? 0]!;
  const seconds = frames.map((i) => (times[i]! - start) / 1000);
  if (frames.length < 2 || seconds.at(-1)! <= 0) return null;
  const fits = frames.map((i) => field.frames[i]!.fit);
  const own = stretchesOf(seconds, fits.map((f) => f.shiftX), fits.map((f) => f.shiftY), LEAST_STEP);
  const stretches = new Array<number>(times.length).fill(0);
  frames.forEach((i, k) => { stretches[i] = own[k]!; });
  const trend = (value: (k: number) => number, entry: number, usual: number, one = false): Trend | null => fitTrend(
    fits.map((f, k) => ({ seconds: seconds[k]!, value: value(k), sigma: Math.sqrt(f.covariance[4 * entry]!) })),
    one ? own.map(() => 0) : own, usual);
  const x = trend((k) => fits[k]!.shiftX, 0, usualPixels), y = trend((k) => fits[k]!.shiftY, 1, usualPixels);
  const rotation = trend((k) => fits[k]!.rotation, 2, USUAL_ROTATION, true);
  if (!x || !y || !rotation) return null;
  let largestStep = 0;
  own.forEach((s, k) => {
    if (k > 0 && s !== own[k - 1]) largestStep = Math.max(
      largestStep, Math.hypot(fits[k]!.shiftX - fits[k - 1]!.shiftX, fits[k]!.shiftY - fits[k - 1]!.shiftY),
    );
  });
  return { frames, seconds, x, y, rotation, stretches, steps: own.at(-1)!, largestStep };
}

/** Drift of the picture's middle (pixels a second) and rotation (radians a second, from x toward y). */
export interface Motion {
  readonly x: number;
  readonly y: number;
  readonly rotation: number;
}

/** Points of the picture that represent the field, as shares of half its width and height. */
const GRID = [-0.8, 0, 0.8];

/**
 * The motion of the field between the first and the last frame on a mount that tracks about `axis` at the sidereal rate, refraction
 * included: exact rotations, divided by the time.
 */
export function expectedMotion(field: RegisteredField, geometry: FieldGeometry, axis: Vector, first: number, last: number): Motion {
  const { skies, lens, pose, hemisphere } = geometry;
  const home = skies[field.reference]!;
  const points = GRID.flatMap((i) => GRID.map((k) => [((1 + i) * (field.width - 1)) / 2, ((1 + k) * (field.height - 1)) / 2] as const));
  const stars = points.map(([x, y]) => home.fromLocal(apply(pose, toDirection(lens, x, y))));
  const seen = (frame: number): { x: number; y: number }[] => {
    const sky = skies[frame]!;
    const hours = (sky.time.getTime() - home.time.getTime()) / 3.6e6;
    return stars.map(
      (star) => toPixel(lens, apply(inverse(pose), onMount(axis, hemisphere, hours, sky.toLocal(star)))) ?? { x: NaN, y: NaN },
    );
  };
  const from = seen(first), to = seen(last);
  const fit = fitPlane({
    fromX: from.map((p) => p.x), fromY: from.map((p) => p.y), toX: to.map((p) => p.x), toY: to.map((p) => p.y), sigma: from.map(() => 0.01),
  }, { x: (field.width - 1) / 2, y: (field.height - 1) / 2 });
  const seconds = (skies[last]!.time.getTime() - skies[first]!.time.getTime()) / 1000;
  return fit && seconds > 0
    ? { x: fit.shiftX / seconds, y: fit.shiftY / seconds, rotation: fit.rotation / seconds } : { x: 0, y: 0, rotation: 0 };
}
