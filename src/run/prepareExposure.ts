import { SIDEREAL_RATE } from '../sky/siderealRate.js';
import { type StarCamera, type NearStars, type StarForecast, forecastStars } from './prepareStars.js';

/** An exposure for the frames that the axis is measured from. */
export interface SuggestedExposure extends StarForecast {
  /** How far a star in the corner moves during it with the drive off and the pole in the middle, pixels. */
  readonly trailPixels: number;
  /** Fewer stars than identification likes. */
  readonly fewStars: boolean;
}

/** Seconds. In shorter ones the air moves the stars too much: `starSignals`; longer ones cost more time than they gain. */
const EXPOSURES = [2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 45, 60];
/** With this many stars a frame is recognised easily and the axis is certain; more add little. */
const PLENTY = 40;
/** Fewer than about seven are refused by the identification. */
export const FEW = 12;
/** Where there can't be plenty: this share of what the longest exposure gives. */
const ALMOST_ALL = 0.9;
/** Thin cloud or a dewed lens, common when people align; magnitudes. */
const HAZE = 1;

/**
 * The shortest exposure of a list that gives forty catalogue stars even through a magnitude of haze, else nearly as many as a minute gives.
 * The forecast with it is for a clear night.
 */
export function suggestExposure(camera: StarCamera, stars: NearStars): SuggestedExposure {
  const hazy = (seconds: number): number => forecastStars(camera, seconds, stars, HAZE).stars;
  const most = hazy(EXPOSURES.at(-1)!);
  const enough = Math.min(PLENTY, ALMOST_ALL * most);
  const seconds = EXPOSURES.find((s) => hazy(s) >= enough) ?? EXPOSURES.at(-1)!;
  return forecastExposure(camera, seconds, stars);
}

/** The forecast for an exposure of the person's own choice. */
export function forecastExposure(camera: StarCamera, exposureSeconds: number, stars: NearStars): SuggestedExposure {
  const forecast = forecastStars(camera, exposureSeconds, stars);
  return { ...forecast, trailPixels: cornerTrail(camera, exposureSeconds), fewStars: forecast.stars < FEW };
}

/** Trail of a star in the corner, pixels, with the drive off and the pole in the middle: an arc about the middle. */
export function cornerTrail(camera: StarCamera, exposureSeconds: number): number {
  return (Math.hypot(camera.width, camera.height) / 2) * SIDEREAL_RATE * exposureSeconds;
}

/** Width of stars where it is not given, pixels: 3″ of air (a common night) and 2 px of optics and pixels. */
export function usualFwhm(camera: { readonly focalLengthMillimetres: number; readonly pixelSizeMicrometres: number }): number {
  return Math.hypot(3 / (206.265 * camera.pixelSizeMicrometres / camera.focalLengthMillimetres), 2);
}
