import type { PixelArray } from './frame.js';

/**
 * Plain mean of the colour planes, plane after plane (`planes`) or sample after sample (`interleaved`). Plain, because the place of a star
 * is wanted, not its colour: the usual weights of the eye (about 0.2, 0.7, 0.1) would discard most of the light in the red and blue pixels.
 * A pixel with a blank plane is blank. Floating-point planes are overwritten: the mean is stored in the first.
 */
export function meanOfPlanes(data: PixelArray, pixels: number, planes: number, layout: 'planes' | 'interleaved'): PixelArray {
  if (planes === 1) return data;
  const reusable = layout === 'planes' && (data instanceof Float32Array || data instanceof Float64Array);
  const mean = reusable ? data.subarray(0, pixels) : floatsLike(data, pixels);
  const [step, stride] = layout === 'planes' ? [pixels, 1] : [1, planes];
  for (let i = 0, at = 0; i < pixels; i++, at += stride) {
    let sum = 0;
    for (let p = 0, j = at; p < planes; p++, j += step) sum += data[j] as number;
    mean[i] = sum / planes;
  }
  return mean;
}

/** Floating point for means of such values: 24 bits of fraction are enough for 8 and 16-bit integers. */
export function floatsLike(data: PixelArray, length: number): Float32Array | Float64Array {
  const wide = data instanceof Float64Array || data instanceof Int32Array || data instanceof Uint32Array;
  return wide ? new Float64Array(length) : new Float32Array(length);
}
