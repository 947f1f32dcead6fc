import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { DEGREE } from '../../src/geometry/angle.js';
import type { Random } from '../../src/simulate/random.js';

/** A list of detections that shows no pole. */
export interface FarField {
  readonly width: number;
  readonly height: number;
  /** Focal length of the lens it was made with, pixels. */
  readonly focalPixels: number;
  /** Brightest first. */
  readonly places: readonly { readonly x: number; readonly y: number }[];
}

/** The 1,000 real fields of testdata/identify/fields.bin: Tycho-2 stars with |declination| < 40°. Layout: make.py beside it. */
export function realFarFields(): FarField[] {
  const bytes = readFileSync(fileURLToPath(new URL('../../testdata/identify/fields.bin', import.meta.url)));
  const count = bytes.readUInt16LE(0);
  const fields: FarField[] = [];
  let at = 2;
  for (let n = 0; n < count; n++) {
    const width = bytes.readUInt16LE(at), height = bytes.readUInt16LE(at + 2), hundredths = bytes.readUInt16LE(at + 4);
    const stars = bytes.readUInt8(at + 6);
    at += 7;
    const places: { x: number; y: number }[] = [];
    for (let s = 0; s < stars; s++, at += 5) {
      places.push({ x: (bytes.readUInt16LE(at) / 65535) * (width - 1), y: (bytes.readUInt16LE(at + 2) / 65535) * (height - 1) });
    }
    fields.push({ width, height, focalPixels: width / 2 / Math.tan((hundredths / 200) * DEGREE), places });
  }
  return fields;
}

/** 40 to 160 places scattered evenly: what a likelihood against chance supposes. */
export function uniformFarField(random: Random): FarField {
  const width = 640 + Math.floor(4000 * random.uniform());
  const height = Math.round(width * (0.6 + 0.4 * random.uniform()));
  const degrees = 0.5 * 120 ** random.uniform();
  const count = 40 + Math.floor(120 * random.uniform());
  return {
    width, height, focalPixels: width / 2 / Math.tan((degrees / 2) * DEGREE),
    places: Array.from({ length: count }, () => ({ x: (width - 1) * random.uniform(), y: (height - 1) * random.uniform() })),
  };
}
