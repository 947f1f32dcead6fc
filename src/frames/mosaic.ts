import type { Image, PixelArray } from './frame.js';
import { floatsLike } from './luminance.js';

/**
 * Luminance of a colour mosaic of 2x2 cells (R, G, G, B in any order): the mean of the four pixels at x, x+1 and y, y+1, which contains
 * each colour once wherever the cell begins. Width and height stay; the last column and row repeat their neighbours. A position in the
 * result is 0.5 px smaller in x and in y than in the mosaic.
 *
 * Neighbours share pixels, so the noise of a sum over many pixels is twice what the scatter of single pixels suggests. Errors derived from
 * that scatter must allow for this.
 *
 * The mean is exact in a Float32Array unless `into` is given, an array of as many pixels that takes the result and may be `image.data`
 * itself; integers are then rounded to the nearest, half up.
 */
export function mosaicToLuminance(image: Image, into?: PixelArray): Image {
  const { width, height, data } = image;
  if (width < 2 || height < 2) return image;
  const mean = into ?? floatsLike(data, data.length);
  const whole = !(mean instanceof Float32Array || mean instanceof Float64Array);
  // Row by row, each value only from pixels not yet overwritten: so `into` may be the picture.
  for (let y = 0; y < height - 1; y++) {
    const row = y * width;
    let left = (data[row] as number) + (data[row + width] as number);
    for (let i = row; i < row + width - 1; i++) {
      const right = (data[i + 1] as number) + (data[i + 1 + width] as number);
      const value = (left + right) * 0.25;
      mean[i] = whole ? Math.floor(value + 0.5) : value;
      left = right;
    }
    mean[row + width - 1] = mean[row + width - 2] as number;
  }
  mean.copyWithin((height - 1) * width, (height - 2) * width, (height - 1) * width);
  return { ...image, data: mean };
}
