import { ARCMINUTE } from '../geometry/angle.js';
import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import { type Vector, add, angleBetween, dot, scale, subtract, unit } from '../geometry/vector.js';
import { type Lens, toDirection, toPixel } from '../identify/lens.js';

/** A pixel: 0-based, y down the rows as stored. */
export type Point = readonly [x: number, y: number];

/**
 * Where something is seen: on the sensor; or beyond its edge: the point where the shortest way to it leaves the sensor, and the distance
 * from there.
 */
export type Place =
  | { readonly at: Point }
  | { readonly edge: Point; readonly heading: Point; readonly beyondArcmin: number };

/** One frame's view: which pixel shows which local direction. */
export interface SensorView {
  readonly width: number;
  readonly height: number;
  readonly lens: Lens;
  /** Camera to local. */
  readonly pose: Rotation;
}

/** A larger difference between a direction and that of its pixel means that the lens formula has folded over. */
const UNFOLDED = 0.01 * ARCMINUTE;

/** The pixel of a local direction, off the sensor too; null behind the camera or where the lens formula is no longer valid. */
export function pixelOf(view: SensorView, direction: Vector): Point | null {
  const inCamera = apply(inverse(view.pose), direction);
  const pixel = toPixel(view.lens, inCamera);
  if (!pixel || angleBetween(toDirection(view.lens, pixel.x, pixel.y), inCamera) > UNFOLDED) return null;
  return [pixel.x, pixel.y];
}

/** The local direction of the sensor's middle. */
export function middleDirection({ width, height, lens, pose }: SensorView): Vector {
  return apply(pose, toDirection(lens, (width - 1) / 2, (height - 1) / 2));
}

/** Whether a pixel lies on the sensor, to the outer edge of its outermost pixels. */
export function onSensor({ width, height }: SensorView, [x, y]: Point): boolean {
  return x >= -0.5 && y >= -0.5 && x <= width - 0.5 && y <= height - 0.5;
}

/** Where a local direction (length 1) is seen, or where to look for it. */
export function placeOf(view: SensorView, direction: Vector): Place {
  const pixel = pixelOf(view, direction);
  if (pixel && onSensor(view, pixel)) return { at: pixel };
  const middle = middleDirection(view);
  const along = (angle: number): Vector => add(scale(middle, Math.cos(angle)), scale(aside, Math.sin(angle)));
  const aside = asideOf(middle, direction);
  let inside = 0;
  let outside = angleBetween(middle, direction);
  for (let i = 0; i < 60; i++) {
    const between = (inside + outside) / 2;
    const seen = pixelOf(view, along(between));
    if (seen && onSensor(view, seen)) inside = between;
    else outside = between;
  }
  const edge = pixelOf(view, along(inside))!;
  const before = pixelOf(view, along(0.99 * inside))!;
  return {
    edge, heading: unitPoint([edge[0] - before[0], edge[1] - before[1]]), beyondArcmin: angleBetween(along(inside), direction) / ARCMINUTE,
  };
}

/** The direction on the sensor, length 1, of a step from its middle toward a local direction; null where that is undefined. */
export function headingTo(view: SensorView, toward: Vector): Point | null {
  const middle = middleDirection(view);
  if (angleBetween(middle, toward) < ARCMINUTE || angleBetween(middle, scale(toward, -1)) < ARCMINUTE) return null;
  const step = 10 / view.lens.focalPixels;
  const from = pixelOf(view, middle);
  const to = pixelOf(view, unit(add(middle, scale(asideOf(middle, toward), step))));
  return from && to ? unitPoint([to[0] - from[0], to[1] - from[1]]) : null;
}

/** At right angles to `middle`, toward `direction`; any such direction where they are opposite. */
function asideOf(middle: Vector, direction: Vector): Vector {
  const aside = subtract(direction, scale(middle, dot(middle, direction)));
  if (Math.hypot(...aside) > 1e-12) return unit(aside);
  const other: Vector = Math.abs(middle[0]) < 0.9 ? [1, 0, 0] : [0, 1, 0];
  return unit(subtract(other, scale(middle, dot(middle, other))));
}

function unitPoint([x, y]: Point): Point {
  const length = Math.hypot(x, y);
  return length > 0 ? [x / length, y / length] : [1, 0];
}
