import type { Metadata, Sharp } from 'sharp';
import { PolewardError } from '../error.js';
import { exifMetadata, noMetadata } from './exifMetadata.js';
import type { RasterKind } from './fileKind.js';
import type { FrameMetadata, Image, PixelArray } from './frame.js';
import { meanOfPlanes } from './luminance.js';
import { pngWithoutExtras } from './pngWithoutExtras.js';
import { PACKED_AVIF, PACKED_JPEG, PACKED_PICTURE, PACKED_WEBP, refuseMemory, refuseUnpacking } from './tooLarge.js';

/** Sample type and largest value by sharp's name of the depth. */
const SAMPLES: Readonly<Record<string, { bytes: number; read: (bytes: Buffer) => PixelArray; ceiling: number | null }>> = {
  uchar: { bytes: 1, read: (b) => new Uint8Array(b.buffer, b.byteOffset, b.byteLength), ceiling: 255 },
  ushort: { bytes: 2, read: (b) => new Uint16Array(b.buffer, b.byteOffset, b.byteLength / 2), ceiling: 65535 },
  short: { bytes: 2, read: (b) => new Int16Array(b.buffer, b.byteOffset, b.byteLength / 2), ceiling: 32767 },
  uint: { bytes: 4, read: (b) => new Uint32Array(b.buffer, b.byteOffset, b.byteLength / 4), ceiling: 2 ** 32 - 1 },
  int: { bytes: 4, read: (b) => new Int32Array(b.buffer, b.byteOffset, b.byteLength / 4), ceiling: 2 ** 31 - 1 },
  float: { bytes: 4, read: (b) => new Float32Array(b.buffer, b.byteOffset, b.byteLength / 4), ceiling: null },
  double: { bytes: 8, read: (b) => new Float64Array(b.buffer, b.byteOffset, b.byteLength / 8), ceiling: null },
};

const PACKINGS = { png: PACKED_PICTURE, tiff: PACKED_PICTURE, jpeg: PACKED_JPEG, webp: PACKED_WEBP, avif: PACKED_AVIF } as const;

const AV1_LONGEST_SIDE = 65536;
const SPACES = ['b-w', 'grey16', 'srgb', 'rgb', 'rgb16', 'scrgb'] as const;

/**
 * The (first) picture of a PNG, TIFF, JPEG, WebP or AVIF file: sample values as stored, of colours the plain mean, transparency dropped,
 * not turned by its EXIF orientation (all frames of a camera then agree), no colour profile applied.
 * The bytes are used up. Throws {@link PolewardError} `not-an-image`, `file-truncated` or `too-large`.
 */
export async function decodeRaster(
  bytes: Buffer,
  kind: RasterKind,
  file: string,
  utcOffsetMinutes: number | null,
): Promise<{ image: Image; metadata: FrameMetadata; notes: readonly string[] }> {
  // Heavy to load, and FITS frames don't need it.
  const { default: sharp } = await import('sharp');
  if (kind === 'avif' && claimsImpossibleSide(bytes)) throw damaged(kind, file);
  // Its limit on pixels is replaced by the one below, with words of our own.
  const picture = sharp(kind === 'png' ? pngWithoutExtras(bytes) : bytes, { failOn: 'error', ignoreIcc: true, limitInputPixels: false, autoOrient: false });
  const about = await attempt(() => picture.metadata(), kind, file);
  refuseUnpacking(about.width * about.height, about.channels * (SAMPLES[about.depth]?.bytes ?? 1), bytes.length, file, PACKINGS[kind]);
  refuseMemory(about.width * about.height * bytesPerPixel(about, kind), file);
  const image = await decode(picture, about, kind, file);
  // A TIFF file is built as EXIF is, so that its own tags are read; sharp hands out the EXIF of the others.
  const exif = kind === 'tiff' ? bytes : about.exif;
  const metadata = exif ? exifMetadata(exif, utcOffsetMinutes) : noMetadata(['It carries no EXIF data: no time, exposure or optics.']);
  const pages = about.pages ?? 1;
  return { image, metadata, notes: pages === 1 ? [] : [`It holds ${pages} pictures; the first was used.`] };
}

/** Memory while a picture is unpacked: its samples, their mean (see `meanOfPlanes`), and what is kept of one that is stored in passes. */
function bytesPerPixel({ channels, depth, isProgressive }: Metadata, kind: RasterKind): number {
  const sample = SAMPLES[depth]?.bytes ?? 1;
  const mean = channels < 3 ? 0 : sample < 4 || depth === 'float' ? 4 : 8;
  // Of a progressive JPEG the coefficients of 16 bits, of an interlaced PNG the picture.
  const passes = !isProgressive ? 0 : kind === 'jpeg' ? 2 * channels : sample * channels;
  // Which are unpacked as a whole, with brightness and colour apart, and then turned into RGB.
  const whole = kind === 'webp' ? 4 : kind === 'avif' ? 7 : 0;
  return sample * channels + mean + passes + whole;
}

async function decode(picture: Sharp, about: Metadata, kind: string, file: string): Promise<Image> {
  const space = SPACES.find((name) => name === about.space);
  const samples = SAMPLES[about.depth];
  if (!space || !samples) {
    throw new PolewardError('not-an-image', `${file} stores its colours as ${about.space} ${about.depth}, not as grey or RGB. Save it as grey or RGB.`);
  }
  // The output space named as the input's: nothing is converted. Left out, sharp makes it 8-bit sRGB.
  const raw = picture.removeAlpha().toColourspace(space).raw({ depth: about.depth });
  const { data, info } = await attempt(() => raw.toBuffer({ resolveWithObject: true }), kind, file);
  const aligned = data.byteOffset % 8 === 0 ? data : Buffer.from(new Uint8Array(data).buffer);
  const { width, height, channels } = info;
  return { width, height, data: meanOfPlanes(samples.read(aligned), width * height, channels, 'interleaved'), ceiling: samples.ceiling };
}

/** Runs a step of sharp; what it throws at a file that begins like an image comes of one cut short or damaged. */
async function attempt<T>(step: () => Promise<T>, kind: string, file: string): Promise<T> {
  try {
    return await step();
  } catch {
    throw damaged(kind, file);
  }
}

function damaged(kind: string, file: string): PolewardError {
  return new PolewardError('file-truncated', `${file} begins as ${kind.toUpperCase()} but is cut short or damaged. Copy or save it again.`);
}

/** True where an AVIF file has a picture wider or higher than AV1 can be, at which libvips would write warnings to the terminal. */
function claimsImpossibleSide(bytes: Buffer): boolean {
  const data = bytes.indexOf('mdat');
  const end = data < 0 ? bytes.length : data;
  // Name, version, width, height: ISO/IEC 23008-12, 6.5.3.
  for (let at = bytes.indexOf('ispe'); at >= 0 && at + 16 <= end; at = bytes.indexOf('ispe', at + 4)) {
    if (Math.max(bytes.readUInt32BE(at + 8), bytes.readUInt32BE(at + 12)) > AV1_LONGEST_SIDE) return true;
  }
  return false;
}
