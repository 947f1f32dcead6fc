import type { Image } from '../frames/frame.js';

/** A frame reduced and stretched for display: rows from the top as its viewers show it, 0 (dark) to 255. */
export interface FrameCells {
  readonly width: number;
  readonly height: number;
  readonly grey: Uint8Array;
  /** Pixels of the stored picture along each side of a cell. */
  readonly side: number;
  /** Where the outer corner of its top left cell lies in the stored picture's shown pixels, counted from the picture's own corner. */
  readonly left: number;
  readonly top: number;
}

const SAMPLES = 20_000;
/** Above the sky, asinh shows faint and bright stars together (Lupton et al. 2004, PASP 116, 133). */
const SOFT_SIGMAS = 4;
const WHITE_SIGMAS = 400;
const BLACK_SIGMAS = 2;

/**
 * Means over square cells, so that the longer side has at most `most` cells, stretched so that the sky's noise is just visible. Blank
 * pixels are shown as the sky's dark end. Cells at the border that the picture fills only in part are means of that part.
 *
 * @param pixelOffset to be added to a position in `image` to get one in the stored picture, see `Frame.pixelOffset`
 */
export function frameCells(image: Image, most: number, firstRowBottom: boolean, pixelOffset = 0): FrameCells {
  const side = Math.max(1, Math.ceil(Math.max(image.width, image.height) / most));
  const width = Math.ceil(image.width / side);
  const height = Math.ceil(image.height / side);
  const means = meansOf(image, side, width, height);
  const { sky, noise } = skyOf(means);
  const black = sky - BLACK_SIGMAS * noise;
  const full = Math.asinh((WHITE_SIGMAS + BLACK_SIGMAS) / SOFT_SIGMAS);
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const row = (firstRowBottom ? height - 1 - y : y) * width;
    for (let x = 0; x < width; x++) {
      const above = (means[row + x]! - black) / (SOFT_SIGMAS * noise);
      grey[y * width + x] = Number.isNaN(above) ? 0 : Math.round(255 * Math.min(1, Math.max(0, Math.asinh(Math.min(above, 1e6)) / full)));
    }
  }
  // The last cells reach beyond the end of the stored rows: at the top where the first row is the bottom.
  const over = height * side - image.height;
  return { width, height, grey, side, left: pixelOffset, top: firstRowBottom ? -over - pixelOffset : pixelOffset };
}

function meansOf({ width, height, data }: Image, side: number, columns: number, rows: number): Float64Array {
  const means = new Float64Array(columns * rows);
  const sums = new Float64Array(columns);
  const counts = new Float64Array(columns);
  for (let row = 0; row < rows; row++) {
    sums.fill(0);
    counts.fill(0);
    for (let y = row * side; y < Math.min(height, (row + 1) * side); y++) {
      for (let x = 0; x < width; x++) {
        const value = data[y * width + x]!;
        if (!Number.isFinite(value)) continue;
        const column = Math.floor(x / side);
        sums[column]! += value;
        counts[column]!++;
      }
    }
    for (let column = 0; column < columns; column++) means[row * columns + column] = sums[column]! / counts[column]!;
  }
  return means;
}

/** Median, and the scatter below it: stars are above. */
function skyOf(means: Float64Array): { sky: number; noise: number } {
  const step = Math.max(1, Math.floor(means.length / SAMPLES));
  const sample: number[] = [];
  for (let i = 0; i < means.length; i += step) if (Number.isFinite(means[i]!)) sample.push(means[i]!);
  if (sample.length === 0) return { sky: 0, noise: 1 };
  sample.sort((a, b) => a - b);
  const at = (share: number): number => sample[Math.floor(share * (sample.length - 1))]!;
  const sky = at(0.5);
  // One sigma below the middle of a normal distribution lie 15.87 %.
  const noise = sky - at(0.1587);
  return { sky, noise: noise > 0 ? noise : Math.max(1e-9, (at(1) - sky) / WHITE_SIGMAS) || 1 };
}

/**
 * Share of these places (pixels of the stored picture) where the picture is clearly brighter than around: shows whether it is still the
 * frame in which the stars were found.
 */
export function shareLit(
  image: Image, pixelOffset: number, places: readonly (readonly [x: number, y: number, ...rest: number[]])[],
): number {
  const { width, height, data } = image;
  const near = (x: number, y: number): number => (x < 0 || y < 0 || x >= width || y >= height ? NaN : data[y * width + x]!);
  let lit = 0;
  for (const [px, py] of places) {
    const x = Math.round(px - pixelOffset), y = Math.round(py - pixelOffset);
    const ring: number[] = [];
    for (let i = -8; i <= 8; i++) for (const d of [-8, 8]) ring.push(near(x + i, y + d), near(x + d, y + i));
    const around = ring.filter(Number.isFinite).sort((a, b) => a - b);
    let core = 0, count = 0;
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const value = near(x + dx, y + dy);
        if (Number.isFinite(value)) [core, count] = [core + value, count + 1];
      }
    }
    if (count === 0 || around.length < 8) continue;
    const middle = around[Math.floor(around.length / 2)]!;
    const scatter = middle - around[Math.floor(0.1587 * around.length)]!;
    // Nine pixels together scatter a third as much as one.
    if (core / count - middle > 4 * Math.max(scatter, 1e-9) / 3) lit++;
  }
  return places.length === 0 ? 0 : lit / places.length;
}
