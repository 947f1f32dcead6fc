import type { Metadata, Sharp } from 'sharp';
import type { OpenPicture, PictureSamples } from '../frames/decoders.js';
import type { RasterKind } from '../frames/fileKind.js';
import type { PixelArray } from '../frames/frame.js';
import { sharp } from './sharpLoaders.js';

interface SampleKind {
  readonly bytes: 1 | 2 | 4 | 8;
  readonly floatingPoint: boolean;
  readonly ceiling: number | null;
  read(memory: ArrayBufferLike, offset: number, bytes: number): PixelArray;
}

/** Sample kinds by sharp's name of the depth. */
const SAMPLES: Readonly<Record<string, SampleKind>> = {
  uchar: { bytes: 1, floatingPoint: false, ceiling: 255, read: (memory, at, bytes) => new Uint8Array(memory, at, bytes) },
  ushort: { bytes: 2, floatingPoint: false, ceiling: 65535, read: (memory, at, bytes) => new Uint16Array(memory, at, bytes / 2) },
  short: { bytes: 2, floatingPoint: false, ceiling: 32767, read: (memory, at, bytes) => new Int16Array(memory, at, bytes / 2) },
  uint: { bytes: 4, floatingPoint: false, ceiling: 2 ** 32 - 1, read: (memory, at, bytes) => new Uint32Array(memory, at, bytes / 4) },
  int: { bytes: 4, floatingPoint: false, ceiling: 2 ** 31 - 1, read: (memory, at, bytes) => new Int32Array(memory, at, bytes / 4) },
  float: { bytes: 4, floatingPoint: true, ceiling: null, read: (memory, at, bytes) => new Float32Array(memory, at, bytes / 4) },
  double: { bytes: 8, floatingPoint: true, ceiling: null, read: (memory, at, bytes) => new Float64Array(memory, at, bytes / 8) },
};

/** Sharp's names for grey and for red, green and blue. */
const SPACES = ['b-w', 'grey16', 'srgb', 'rgb', 'rgb16', 'scrgb'] as const;

/**
 * A PNG, TIFF, JPEG, WebP or AVIF picture opened by sharp: samples as stored, not turned by its EXIF orientation (all frames of a camera
 * then agree), no colour profile applied.
 */
export async function openSharpPicture(bytes: Uint8Array, kind: RasterKind): Promise<OpenPicture> {
  // The core has its own limits on pixels, with its own words.
  const picture = sharp(bytes, { failOn: 'error', ignoreIcc: true, limitInputPixels: false, autoOrient: false });
  const about = await picture.metadata();
  if (!isKind(about, kind)) throw new Error(`told to be ${kind}, taken for ${about.format}`);
  const samples = SAMPLES[about.depth];
  const space = SPACES.find((name) => name === about.space);
  return {
    width: about.width, height: about.height, channels: about.channels, pages: about.pages ?? 1,
    exif: about.exif ?? null, xmp: about.xmp ?? null,
    sampleBytes: samples?.bytes ?? 1, floatingPoint: samples?.floatingPoint ?? false, inPasses: about.isProgressive,
    otherColours: space && samples ? null : `${about.space} ${about.depth}`,
    samples: () => {
      if (!space || !samples) throw new Error('asked for samples that are neither grey nor RGB');
      return samplesOf(picture, about, space, samples);
    },
  };
}

/** Whether sharp recognises the bytes as the format that was recognised here. */
function isKind({ format, compression }: Metadata, kind: RasterKind): boolean {
  return kind === 'avif' ? format === 'heif' && compression === 'av1' : format === kind;
}

async function samplesOf(picture: Sharp, about: Metadata, space: (typeof SPACES)[number], kind: SampleKind): Promise<PictureSamples> {
  // The output colour space is the input's: nothing is converted. Without this sharp makes 8-bit sRGB.
  const raw = picture.removeAlpha().toColourspace(space).raw({ depth: about.depth });
  const { data, info } = await raw.toBuffer({ resolveWithObject: true });
  const aligned = data.byteOffset % 8 === 0 ? data : new Uint8Array(data);
  const { width, height, channels } = info;
  return { width, height, channels, ceiling: kind.ceiling, data: kind.read(aligned.buffer, aligned.byteOffset, aligned.byteLength) };
}
