import { DEGREE } from '../geometry/angle.js';

/** A camera behind a telescope or lens. */
export interface PlannedCamera {
  readonly focalLengthMillimetres: number;
  /** Of the stored pixels. */
  readonly pixelSizeMicrometres: number;
  /** Size of the stored picture, pixels. */
  readonly width: number;
  readonly height: number;
}

/** The part of the sky that a camera sees. */
export interface FieldSize {
  readonly widthDeg: number;
  readonly heightDeg: number;
  readonly diagonalDeg: number;
  /** In the middle: 206.265 times µm over mm. */
  readonly arcsecPerPixel: number;
}

export function focalPixels({ focalLengthMillimetres, pixelSizeMicrometres }: PlannedCamera): number {
  return (1000 * focalLengthMillimetres) / pixelSizeMicrometres;
}

/** The field of a lens without distortion. */
export function fieldSize(camera: PlannedCamera): FieldSize {
  const focal = focalPixels(camera);
  const across = (pixels: number): number => (2 * Math.atan(pixels / 2 / focal)) / DEGREE;
  return {
    widthDeg: across(camera.width),
    heightDeg: across(camera.height),
    diagonalDeg: across(Math.hypot(camera.width, camera.height)),
    arcsecPerPixel: 3600 / DEGREE / focal,
  };
}
