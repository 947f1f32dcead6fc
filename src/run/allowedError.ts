import { type Vector, add, scale } from '../geometry/vector.js';

/** Larger errors are not searched: they are more than a misalignment, radians. */
const FARTHEST = (10 * Math.PI) / 180;
const FIRST = Math.PI / 180 / 60;
const HALVINGS = 30;

/** The axis that stands `separation` from a pole in a direction on the sky (radians from up toward east). */
export function axisBeside(pole: Vector, separation: number, direction: number): Vector {
  const side = pole[1] >= 0 ? 1 : -1;
  const up: Vector = [0, -side * pole[2], Math.abs(pole[1])];
  const offset = add(scale(up, Math.cos(direction)), [Math.sin(direction), 0, 0]);
  return add(scale(pole, Math.cos(separation)), scale(offset, Math.sin(separation)));
}

/**
 * Largest separation from a pole in one direction with which `trail` stays within `limit`, radians: 0 where it is already outside on the
 * pole itself, 10° where it is within up to there.
 *
 * @param trail of an axis; grows with the distance from its minimum
 */
export function allowedAlong(trail: (axis: Vector) => number, limit: number, pole: Vector, direction: number): number {
  const within = (separation: number): boolean => trail(axisBeside(pole, separation, direction)) <= limit;
  if (!within(0)) return 0;
  let inside = 0, outside = FIRST;
  while (within(outside)) {
    if (outside >= FARTHEST) return FARTHEST;
    inside = outside;
    outside = Math.min(FARTHEST, 2 * outside);
  }
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (inside + outside) / 2;
    if (within(middle)) inside = middle;
    else outside = middle;
  }
  return inside;
}

/** The least of {@link allowedAlong} over all directions, and its direction: any error up to it is within the limit. */
export function allowedAnywhere(trail: (axis: Vector) => number, limit: number, pole: Vector): { separation: number; direction: number } {
  const along = (direction: number): number => allowedAlong(trail, limit, pole, direction);
  const step = Math.PI / 8;
  let best = { separation: Infinity, direction: 0 };
  const look = (direction: number): void => {
    const separation = along(direction);
    if (separation < best.separation) best = { separation, direction };
  };
  for (let k = 0; k < 16; k++) look(k * step);
  for (let width = step / 2; width > 0.002; width /= 2) {
    const { direction } = best;
    look(direction - width);
    look(direction + width);
  }
  return best;
}
