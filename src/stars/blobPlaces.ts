import type { Blob } from './saturatedBlob.js';

/** Side of a cell, px: a little more than a star, so that few blobs share one. */
const cell = 16;

/** The places covered by blobs. */
export interface BlobPlaces {
  add(blob: Blob): void;
  /** Whether a place in the picture lies on a blob or within the margin of it. */
  covers(x: number, y: number): boolean;
}

/**
 * Blobs of a picture by the cells of a grid that their boxes, `margin` px larger on all sides, reach into: a place is compared only with
 * the few blobs of its cell.
 */
export function makeBlobPlaces(width: number, height: number, margin: number): BlobPlaces {
  const columns = Math.ceil(width / cell);
  const rows = Math.ceil(height / cell);
  const cells = new Array<Blob[] | undefined>(columns * rows);
  const enter = (blob: Blob, j: number, left: number, right: number): void => {
    for (let i = Math.max(0, Math.floor(left / cell)); i <= Math.min(columns - 1, Math.floor(right / cell)); i++) {
      const there = cells[j * columns + i];
      if (there) there.push(blob);
      else cells[j * columns + i] = [blob];
    }
  };
  return {
    add(blob) {
      const around = blob.radius + margin;
      // For a small blob the square around it is hardly larger than its box.
      const corners = around > cell ? cornersOf(blob, margin) : null;
      const [top, bottom] = corners ? rangeOf(corners.map(({ y }) => y)) : [blob.y - Math.SQRT2 * around, blob.y + Math.SQRT2 * around];
      for (let j = Math.max(0, Math.floor(top / cell)); j <= Math.min(rows - 1, Math.floor(bottom / cell)); j++) {
        if (corners) enter(blob, j, ...acrossBand(corners, j * cell, (j + 1) * cell));
        else enter(blob, j, blob.x - Math.SQRT2 * around, blob.x + Math.SQRT2 * around);
      }
    },
    covers(x, y) {
      const there = cells[Math.floor(y / cell) * columns + Math.floor(x / cell)];
      if (there === undefined) return false;
      for (const blob of there) if (isOnBlob(blob, x, y, margin)) return true;
      return false;
    },
  };
}

/** Whether a place lies on a blob or within `margin` px of it; the blob is taken as a box along its long axis. */
function isOnBlob({ x, y, along, radius, halfWidth }: Blob, u: number, v: number, margin: number): boolean {
  const [dx, dy] = [u - x, v - y];
  return Math.abs(dx * along.x + dy * along.y) < radius + margin && Math.abs(dx * along.y - dy * along.x) < halfWidth + margin;
}

interface Corner {
  readonly x: number;
  readonly y: number;
}

/** Corners of a blob's box in order. */
function cornersOf({ x, y, along, radius, halfWidth }: Blob, margin: number): Corner[] {
  const [long, wide] = [radius + margin, halfWidth + margin];
  return [[1, 1], [1, -1], [-1, -1], [-1, 1]].map(([p, q]) => ({
    x: x + p! * long * along.x - q! * wide * along.y,
    y: y + p! * long * along.y + q! * wide * along.x,
  }));
}

/** The range in x of a box between two values of y. */
function acrossBand(corners: readonly Corner[], top: number, bottom: number): [number, number] {
  const xs = corners.flatMap((p, k) => {
    const q = corners[(k + 1) % corners.length]!;
    const crossings = [top, bottom].filter((y) => (p.y < y) !== (q.y < y)).map((y) => p.x + ((q.x - p.x) * (y - p.y)) / (q.y - p.y));
    return p.y >= top && p.y <= bottom ? [p.x, ...crossings] : crossings;
  });
  return rangeOf(xs);
}

function rangeOf(values: readonly number[]): [number, number] {
  return [Math.min(...values), Math.max(...values)];
}
