import type { LibRaw as LibRawObject } from 'libraw-wasm/dist/libraw.js';
import type { RawAbout, RawResult } from './decoders.js';
import { meanOfPlanes } from './luminance.js';

/**
 * Values as stored. Pictures with more than one sample a pixel or a cell larger than 2x2 are interpolated, but without white balance, black
 * level, tone curve or turning. LibRaw needs all six numbers of the curve, or it takes its own.
 */
const AS_STORED = {
  outputBps: 16, outputColor: 0, noAutoBright: true, noAutoScale: true, userBlack: 0, userFlip: 0, userQual: 0, useCameraMatrix: 0,
  gamm: [1, 1, 0, 0, 0, 0] as unknown as [number, number],
};

/** Smaller numbers in LibRaw's `filters` mean no mosaic (0) or a cell of 6x6 and similar (1, 9). */
const SMALLEST_2X2 = 1000;

export type LibRawClass = new () => LibRawObject;

/** What LibRaw says of a camera raw, and its picture where that has no more pixels than `mostPixels` and can be decoded. */
export function libRawPicture(LibRaw: LibRawClass, bytes: Uint8Array, mostPixels: number): RawResult {
  let about: RawAbout | null = null;
  try {
    const raw = new LibRaw();
    const opened = opens(raw, bytes);
    const said = raw.metadata(true);
    // A file that it knows but can't decode has given its size.
    if (opened || said.raw_width > 0) about = aboutOf(said);
    if (!opened) return { about, picture: null };
    if (said.raw_width * said.raw_height > mostPixels) return { about, picture: null };
    const { filters } = said;
    const ceiling = said.color_data.maximum > 0 ? said.color_data.maximum : null;
    if (filters >= SMALLEST_2X2 || said.colors === 1) {
      const sensor = raw.rawImageData();
      if (sensor) {
        const { width, height } = sensor;
        return { about, picture: { width, height, data: visible(sensor), ceiling, mosaic: filters >= SMALLEST_2X2 } };
      }
    }
    // After rawImageData the same object gives wrong results here; its memory is released.
    raw.delete();
    const again = new LibRaw();
    again.open(bytes, AS_STORED);
    const developed = again.imageData();
    if (!developed || !(developed.data instanceof Uint16Array) || developed.data.length < 1) return { about, picture: null };
    const { width, height, colors: planes } = developed;
    // In either case copied out of LibRaw's memory.
    const data = planes === 1 ? developed.data.slice(0, width * height)
      : meanOfPlanes(developed.data, width * height, planes, 'interleaved');
    return { about, picture: { width, height, data, ceiling, mosaic: false } };
  } catch {
    return { about, picture: null };
  }
}

function opens(raw: LibRawObject, bytes: Uint8Array): boolean {
  try {
    raw.open(bytes, AS_STORED);
    return true;
  } catch {
    return false;
  }
}

function aboutOf(said: ReturnType<LibRawObject['metadata']>): RawAbout {
  return {
    width: said.raw_width, height: said.raw_height,
    clockMs: said.timestamp > 0 ? clockMsOf(said.timestamp) : null,
    exposureSeconds: said.shutter > 0 ? said.shutter : null,
    focalLengthMillimetres: said.focal_len > 0 ? said.focal_len : null,
  };
}

/** LibRaw takes the camera's clock to be in the computer's zone; this converts its seconds since 1970 back to the clock time. */
function clockMsOf(seconds: number): number {
  return seconds * 1000 - new Date(seconds * 1000).getTimezoneOffset() * 60_000;
}

/** The lit part of the sensor, copied out of LibRaw's memory. */
function visible(
  sensor: { raw_width: number; left_margin: number; top_margin: number; width: number; height: number; data: Uint16Array },
): Uint16Array {
  const { raw_width: rawWidth, left_margin: left, top_margin: top, width, height, data } = sensor;
  const picture = new Uint16Array(width * height);
  for (let y = 0; y < height; y++) {
    const from = (y + top) * rawWidth + left;
    picture.set(data.subarray(from, from + width), y * width);
  }
  return picture;
}
