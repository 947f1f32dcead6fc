import { ARCSECOND } from '../geometry/angle.js';
import type { Vector } from '../geometry/vector.js';
import type { Catalogue } from '../sky/catalogue.js';
import { skylight, starlight } from '../sky/starlight.js';
import { type PlannedCamera, focalPixels } from './prepareField.js';

/** A camera with all that determines how deep it sees. No gain: electrons are counted, whatever number represents one. */
export interface StarCamera extends PlannedCamera {
  readonly apertureMillimetres: number;
  /** Full width at half maximum of a star, pixels. */
  readonly fwhmPixels: number;
  /** Brightness of the sky, magnitudes to the square arcsecond. */
  readonly skyMagnitude: number;
  readonly readNoiseElectrons: number;
}

/** The signal of a star of some magnitude in one frame. */
export interface StarSignal {
  readonly electrons: number;
  /** Height above the sky in the matched-filtered picture, in units of its noise: the criterion of detection. */
  readonly signalToNoise: number;
  /** Share of such stars that are found. */
  readonly found: number;
  /** One-sigma error of the centroid in each coordinate, pixels; the air's motion included. */
  readonly sigma: number;
}

/** As `detectStars` has it. */
const THRESHOLD = 5;
/**
 * Of a Moffat star with exponent 3, as air makes them, a Gaussian filter of the same width collects this share of what it would of a
 * Gaussian star.
 */
const MOFFAT_SHARE = 0.77;
/** And the error of its centroid is larger by this factor (measured on stars of the simulator: test/run/prepareStars.test.ts). */
const MOFFAT_CENTROID = 1.25;
const SIGMA_PER_FWHM = 1 / (2 * Math.sqrt(2 * Math.log(2)));
/** Colours make stars brighter or fainter in the camera than the catalogue says: one sigma, magnitudes. */
const COLOUR_SCATTER = 0.2;
/** As in `detectStars`: no centroid is taken as more certain, pixels. */
const CENTROID_FLOOR = 0.003;

/**
 * The signal of stars in one exposure: signal to noise against sky and read noise by a matched filter (King 1983, PASP 95, 163), and the
 * centroid's error, √2·s/SNR where the sky's noise dominates and s/√electrons where the star's own does (s: the star's Gaussian width; same
 * source). The air moves stars relative to each other by 1.3″·θ^¼·T^-½ over θ radians in T seconds (Lindegren 1980, A&A 89, 41, from
 * memory); θ is the field's half diagonal.
 */
export function starSignals(camera: StarCamera, exposureSeconds: number): (magnitude: number) => StarSignal {
  const focal = focalPixels(camera);
  const light = starlight(camera.apertureMillimetres);
  const sky = skylight(camera.skyMagnitude, light, exposureSeconds, 1 / focal / ARCSECOND);
  // A pixel widens a star by its own width, of variance 1/12.
  const variance = (camera.fwhmPixels * SIGMA_PER_FWHM) ** 2 + 1 / 12;
  const noise = Math.sqrt(4 * Math.PI * variance * (sky + camera.readNoiseElectrons ** 2)) / MOFFAT_SHARE;
  const halfDiagonal = Math.atan(Math.hypot(camera.width, camera.height) / 2 / focal);
  const wander = 1.3 * ARCSECOND * Math.pow(halfDiagonal, 0.25) / Math.sqrt(exposureSeconds) * focal;
  return (magnitude) => {
    const electrons = light * exposureSeconds * Math.pow(10, -0.4 * magnitude);
    const signalToNoise = electrons / noise;
    const spread = Math.hypot(1, signalToNoise * COLOUR_SCATTER * 0.4 * Math.LN10);
    return {
      electrons, signalToNoise,
      found: normalShare((signalToNoise - THRESHOLD) / spread),
      sigma: Math.hypot(MOFFAT_CENTROID * Math.sqrt(variance * (2 / signalToNoise ** 2 + 1 / electrons)), CENTROID_FLOOR, wander),
    };
  };
}

/** Magnitude of the faintest stars found in one exposure: half of them are. */
export function faintestFound(camera: StarCamera, exposureSeconds: number): number {
  const { signalToNoise } = starSignals(camera, exposureSeconds)(0);
  return 2.5 * Math.log10(signalToNoise / THRESHOLD);
}

/** Catalogue stars around a point, brightest first. */
export interface NearStars {
  /** Radians from it. */
  readonly distances: Float64Array;
  readonly magnitudes: Float32Array;
  /** Number in the catalogue. */
  readonly numbers: Int32Array;
}

/** Catalogue stars within `radius` (radians, up to π/2) of an ICRS direction of length 1. */
export function starsNear(catalogue: Catalogue, centre: Vector, radius: number): NearStars {
  const { directions: d, magnitudes } = catalogue;
  const numbers: number[] = [];
  const distances: number[] = [];
  const least = Math.cos(radius);
  const [x, y, z] = centre;
  for (let i = 0; i < catalogue.count; i++) {
    const cosine = x * d[3 * i]! + y * d[3 * i + 1]! + z * d[3 * i + 2]!;
    if (cosine < least) continue;
    numbers.push(i);
    distances.push(Math.acos(Math.min(1, cosine)));
  }
  return {
    numbers: Int32Array.from(numbers), distances: Float64Array.from(distances),
    magnitudes: Float32Array.from(numbers, (i) => magnitudes[i]!),
  };
}

/** Expected stars on a frame centred on the point of `stars`, whatever the camera's roll. */
export interface StarForecast {
  readonly exposureSeconds: number;
  /** Magnitude at which half of the stars are found. */
  readonly faintestMagnitude: number;
  /** Catalogue stars found: those that identification can use. Fainter stars, which the catalogue lacks, are not counted. */
  readonly stars: number;
}

/** Stars cut by the frame's edge are not used, pixels. */
const EDGE = 4;

/** @param haze dims the stars, not the sky: magnitudes */
export function forecastStars(camera: StarCamera, exposureSeconds: number, stars: NearStars, haze = 0): StarForecast {
  const signal = starSignals(camera, exposureSeconds);
  const focal = focalPixels(camera);
  const [a, b] = [camera.width, camera.height].map((side) => Math.max(0, side / 2 - EDGE)).sort((p, q) => p - q) as [number, number];
  let sum = 0;
  for (let i = 0; i < stars.numbers.length; i++) {
    const share = stars.distances[i]! < Math.PI / 2 ? shareInside(focal * Math.tan(stars.distances[i]!), a, b) : 0;
    if (share > 0) sum += share * signal(stars.magnitudes[i]! + haze).found;
  }
  return { exposureSeconds, faintestMagnitude: faintestFound(camera, exposureSeconds) - haze, stars: sum };
}

/** Share of a circle of radius r about the middle of a rectangle with half sides a <= b that lies inside it. */
function shareInside(r: number, a: number, b: number): number {
  const beyond = (side: number): number => (r > side ? (2 / Math.PI) * Math.acos(side / r) : 0);
  return Math.max(0, 1 - beyond(a) - beyond(b));
}

/** Share of a normal distribution below z (Abramowitz & Stegun 1964, 26.2.17; within 1e-7). */
function normalShare(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail = Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI) *
    t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}
