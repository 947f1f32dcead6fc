import { type Catalogue, catalogueSigma } from '../sky/catalogue.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';

/**
 * The catalogue stars around one pole as they stand at one moment, brightest first. Star numbers are the same at every
 * moment, so that what was learned in one frame serves for the next.
 */
export interface StarCap {
  readonly hemisphere: Hemisphere;
  readonly count: number;
  /** Catalogue number of each star. */
  readonly catalogue: Int32Array;
  /** 3·count apparent directions (length 1) in the frame in which poses are wanted; NaN for stars below the horizon. */
  readonly directions: Float64Array;
  readonly magnitudes: Float32Array;
  /** One-sigma error of each star's place at that moment, radians in each coordinate. */
  readonly sigmas: Float32Array;
  /** The refracted pole's direction in the same frame. */
  readonly pole: readonly [number, number, number];
}

const J2000 = Date.UTC(2000, 0, 1, 12);
const JULIAN_YEAR = 365.25 * 86_400_000;

/** The stars of the catalogue around a pole as `sky` shows them. */
export function starCap(catalogue: Catalogue, hemisphere: Hemisphere, sky: LocalSky): StarCap {
  const numbers = new Int32Array(catalogue.count);
  let count = 0;
  for (let i = 0; i < catalogue.count; i++) {
    if (catalogue.directions[3 * i + 2]! * hemisphere > 0) numbers[count++] = i;
  }
  const icrs = new Float64Array(3 * count);
  const magnitudes = new Float32Array(count);
  const sigmas = new Float32Array(count);
  const years = (sky.time.getTime() - J2000) / JULIAN_YEAR;
  for (let n = 0; n < count; n++) {
    const i = numbers[n]!;
    icrs[3 * n] = catalogue.directions[3 * i]!;
    icrs[3 * n + 1] = catalogue.directions[3 * i + 1]!;
    icrs[3 * n + 2] = catalogue.directions[3 * i + 2]!;
    magnitudes[n] = catalogue.magnitudes[i]!;
    sigmas[n] = catalogueSigma(catalogue, i, years);
  }
  const directions = sky.toLocalAll(icrs, icrs);
  if (sky.site !== null) {
    for (let n = 0; n < count; n++) {
      if (directions[3 * n + 2]! <= 0) directions.fill(NaN, 3 * n, 3 * n + 3);
    }
  }
  const [x, y, z] = sky.refractedPole(hemisphere);
  return { hemisphere, count, catalogue: numbers.slice(0, count), directions, magnitudes, sigmas, pole: [x, y, z] };
}
