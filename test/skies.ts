import { mkdirSync, readFileSync, readdirSync, renameSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';

/** Frames of invented nights with their truth; see testdata/skies/README.md. */
const skies = fileURLToPath(new URL('../testdata/skies/', import.meta.url));
const cache = fileURLToPath(new URL('../testdata/.cache/skies/', import.meta.url));

/** Every folder of frames. */
export const skyFolders = [
  'adjusting', 'guide-north', 'guide-south-tracking', 'slipped', 'telescope-north', 'two-frames-mirrored', 'wide-lens-south',
] as const;
export type SkyFolder = (typeof skyFolders)[number];

/** What truth.json says; signs and pixels as in the JSON of `measure`, stars brightest first. */
export interface SkyTruth {
  readonly site: {
    readonly latitudeDeg: number;
    readonly longitudeDeg: number;
    readonly elevationMetres: number;
    readonly pressureHectopascal: number;
    readonly temperatureCelsius: number;
  };
  readonly axisFromTruePole: {
    readonly altitudeArcmin: number;
    readonly azimuthArcmin: number;
    readonly separationArcmin: number;
  };
  readonly tracking: boolean;
  readonly mirrored: boolean;
  readonly focalLengthMillimetres: number;
  readonly pixelMicrometres: number;
  readonly frames: readonly SkyFrameTruth[];
}

export interface SkyFrameTruth {
  /** Uncompressed name: frame-1.fits */
  readonly file: string;
  readonly startUtc: string;
  readonly exposureSeconds: number;
  readonly raRotationDeg: number;
  readonly knobsTurnedSoFar: readonly unknown[];
  readonly declinationSlipArcmin: number;
  readonly axisPixel: readonly [number, number];
  readonly refractedPolePixel: readonly [number, number];
  readonly stars: readonly {
    readonly x: number;
    readonly y: number;
    readonly vMagnitude: number;
    readonly raDeg: number;
    readonly decDeg: number;
  }[];
}

/** The truth of one folder. */
export function skyTruth(folder: SkyFolder): SkyTruth {
  return JSON.parse(readFileSync(join(skies, folder, 'truth.json'), 'utf8')) as SkyTruth;
}

/** Names of a folder's frames, in order: frame-1.fits, frame-2.fits, … */
export function skyFrameNames(folder: SkyFolder): string[] {
  return readdirSync(join(skies, folder))
    .filter((name) => name.endsWith('.fits.gz'))
    .map((name) => name.slice(0, -'.gz'.length))
    .sort();
}

/** The bytes of one frame's FITS file. `name` as in {@link skyFrameNames}. */
export function skyFrameBytes(folder: SkyFolder, name: string): Uint8Array {
  return gunzipSync(readFileSync(join(skies, folder, `${name}.gz`)));
}

/**
 * Paths of a folder's frames as plain FITS files, expanded once into testdata/.cache.
 * Safe when several test workers ask at once: each writes its own temporary file and renames it.
 */
export function skyFramePaths(folder: SkyFolder): string[] {
  const target = join(cache, folder);
  mkdirSync(target, { recursive: true });
  return skyFrameNames(folder).map((name) => {
    const path = join(target, name);
    // Renaming is atomic, so a file of that name is whole; it is stale only if the fixture is newer.
    const packed = statSync(join(skies, folder, `${name}.gz`)).mtimeMs;
    const expanded = statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? -Infinity;
    if (expanded < packed) {
      const temporary = `${path}.${process.pid}.${Math.random().toString(36).slice(2)}`;
      writeFileSync(temporary, skyFrameBytes(folder, name));
      renameSync(temporary, path);
    }
    return path;
  });
}
