import { PolewardError } from '../error.js';
import type { FrameDecoders } from './decoders.js';
import type { FitsHeaders, FitsValue } from './fitsCard.js';
import { type Hdu, readHdus } from './fitsHdu.js';
import { decodePixels, type Pixels, type Scaling, scalePixels } from './fitsPixels.js';
import type { Image } from './frame.js';
import { meanOfPlanes } from './luminance.js';
import { refuseMemory, refuseTooManyPixels } from './tooLarge.js';
import { unfinishedBehindHeader, unfinishedRows } from './unfinished.js';

export interface DecodedFits {
  readonly image: Image;
  /** Of the HDU with the picture; where that is an extension, keywords that only the primary header has are included. */
  readonly headers: FitsHeaders;
  /** True where the picture is the raw pixels of a 2x2 colour mosaic. */
  readonly mosaic: boolean;
  /** Sentences for the person: which picture of several was taken. */
  readonly notes: readonly string[];
  /** Rows at the end, of all planes together, that seem not to be written yet. */
  readonly unfinishedRows: number;
}

interface Picture {
  readonly hdu: Hdu;
  /** Number of the unit in the file, from 1. */
  readonly number: number;
  readonly bitpix: number;
  readonly width: number;
  readonly height: number;
  readonly planes: number;
  readonly compressed: boolean;
}

/**
 * The picture in a FITS file, plain or tile-compressed: two axes, or three planes of one picture (reduced to their mean); further axes of
 * length 1 are ignored. Of several pictures the largest, of equally large ones the first; `notes` then says which. Tables and units without
 * data are skipped. The file's bytes are overwritten: the pixels returned may be in the same memory, converted to the machine's byte order.
 * `file` names the file in messages, `gunzip` unpacks tiles. Throws {@link PolewardError} `file-truncated`, `not-an-image` or `too-large`.
 */
export async function decodeFits(bytes: Uint8Array, file: string, gunzip: FrameDecoders['gunzip']): Promise<DecodedFits> {
  const { picture, primary, count } = await choosePicture(bytes, file);
  const { hdu, width, height, planes } = picture;
  refuseTooManyPixels(width * height, file);
  refuseMemory(bytes.length + extraBytes(picture), file);
  const { data, ceiling } = await pixelsOf(picture, file, gunzip);
  const unfinished = hdu.blankAfterEnd
    ? unfinishedRows(data, width, ceiling, unwrittenValues(picture))
    : unfinishedBehindHeader(data, width);
  const headers = new Map([...primary, ...hdu.headers]);
  return {
    image: { width, height, data: meanOfPlanes(data, width * height, planes, 'planes'), ceiling },
    headers,
    mosaic: planes === 1 && isMosaic(headers),
    notes: count === 1 ? [] : [whichPicture(picture, count)],
    unfinishedRows: unfinished,
  };
}

async function choosePicture(
  bytes: Uint8Array, file: string,
): Promise<{ picture: Picture; primary: Map<string, FitsValue>; count: number }> {
  let primary: Map<string, FitsValue> | null = null;
  let picture: Picture | null = null;
  let instead = 'it holds no picture';
  let [number, count] = [0, 0];
  try {
    for (const hdu of readHdus(bytes, file)) {
      number++;
      primary ??= hdu.headers;
      const { bitpix, axes, compressed } = await stored(hdu, file);
      if (axes === null) continue;
      const shape = shapeOf(axes);
      if (shape === null) {
        instead = `its data has the axes ${axes.join(' × ')}, which is neither one picture nor three colour planes`;
        continue;
      }
      count++;
      if (picture && shape.width * shape.height <= picture.width * picture.height) continue;
      picture = { hdu, number, bitpix, compressed, ...shape };
    }
  } catch (error) {
    // After a whole picture, the rest of the file may be missing.
    if (!picture) throw error;
  }
  if (!picture || !primary) {
    throw new PolewardError('not-an-image', `${file} is a FITS file, but ${instead}. Give frames that hold a picture each.`);
  }
  return { picture, primary, count };
}

/** BITPIX and axes of the picture in a unit; axes null where there is none. */
async function stored(hdu: Hdu, file: string): Promise<{ bitpix: number; axes: readonly number[] | null; compressed: boolean }> {
  if (hdu.headers.get('ZIMAGE') === true && hdu.data.length > 0) {
    // Loaded only here: most frames don't need it.
    const { tiledShape } = await import('./fitsTiles.js');
    const shape = tiledShape(hdu, file);
    if (shape) return { ...shape, compressed: true };
  }
  return { bitpix: hdu.bitpix, axes: isPicture(hdu) ? hdu.axes : null, compressed: false };
}

/** The most memory that the pixels take in addition to the file's bytes: unpacked, rescaled, their mean. */
function extraBytes({ hdu: { headers }, bitpix, width, height, planes, compressed }: Picture): number {
  const count = width * height * planes;
  const wide = bitpix === 32 || bitpix === 64 ? 8 : 4;
  const rescaled = ['BSCALE', 'BZERO', 'BLANK'].some((keyword) => headers.has(keyword)) && !isUnsigned(bitpix, headers);
  const scaled = bitpix === 64 || (bitpix > 0 && rescaled);
  return (compressed ? (count * Math.abs(bitpix)) / 8 : 0) + (scaled ? count * wide : 0)
    + (planes > 1 && bitpix > 0 && !scaled ? width * height * wide : 0);
}

/** Pixel sizes whose byte order is changed in place. */
function isUnsigned(bitpix: number, headers: FitsHeaders): boolean {
  return (bitpix === 16 || bitpix === 32)
    && headers.get('BZERO') === 2 ** (bitpix - 1) && numberOr(headers, 'BSCALE', 1) === 1 && !headers.has('BLANK');
}

async function pixelsOf(
  { hdu, bitpix, width, height, planes, compressed }: Picture, file: string, gunzip: FrameDecoders['gunzip'],
): Promise<Pixels> {
  const scaling = scalingOf(hdu.headers, bitpix, compressed);
  // A group count, which does not belong in a picture, makes the unit longer than its picture.
  if (!compressed) return decodePixels(hdu.data.subarray(0, (width * height * planes * Math.abs(bitpix)) / 8), bitpix, scaling);
  const { untile } = await import('./fitsTiles.js');
  return scalePixels(untile(hdu, bitpix, [width, height, planes].slice(0, planes === 1 ? 2 : 3), file, gunzip), bitpix, scaling);
}

function scalingOf(headers: FitsHeaders, bitpix: number, compressed: boolean): Scaling {
  return {
    scale: numberOr(headers, 'BSCALE', 1),
    zero: numberOr(headers, 'BZERO', 0),
    blank: numberOr(headers, 'BLANK', compressed && bitpix > 0 ? numberOr(headers, 'ZBLANK', null) : null),
  };
}

/** The pixel values that bytes of all zeros and of all 0xff stand for. */
function unwrittenValues({ hdu, bitpix, compressed }: Picture): number[] {
  const { scale, zero, blank } = scalingOf(hdu.headers, bitpix, compressed);
  const stored = [0, bitpix < 0 ? NaN : bitpix === 8 ? 255 : -1];
  return stored.map((value) => (value === blank ? NaN : zero + scale * value));
}

function isPicture({ headers, data }: Hdu): boolean {
  const extension = headers.get('XTENSION');
  const kind = extension === undefined || extension === 'IMAGE';
  return kind && headers.get('GROUPS') !== true && data.length > 0;
}

/**
 * BAYERPAT (some write COLORTYP) names the colours of the cell row by row, "RGGB"; CYGM and others are found too: common practice. Where
 * the cell begins (XBAYROFF, YBAYROFF, ROWORDER) does not change its mean. Larger cells are not reduced by a 2x2 mean.
 */
function isMosaic(headers: FitsHeaders): boolean {
  return ['BAYERPAT', 'COLORTYP'].some((keyword) => /^[RGBCMYWE]{4}$/i.test(String(headers.get(keyword) ?? '').trim()));
}

/** Width, height and number of planes, or null where the axes are not those of a picture. */
function shapeOf(axes: readonly number[]): { width: number; height: number; planes: number } | null {
  const [width, height, planes = 1, ...more] = axes;
  if (width === undefined || height === undefined || width < 1 || height < 1) return null;
  if ((planes !== 1 && planes !== 3) || more.some((length) => length !== 1)) return null;
  return { width, height, planes };
}

function whichPicture({ hdu, number, width, height }: Picture, count: number): string {
  const name = hdu.headers.get('EXTNAME');
  const named = typeof name === 'string' && name !== '' ? ` (${name})` : '';
  return `It holds ${count} pictures; unit ${number}${named}, ${width} × ${height}, was used: the largest, of equal ones the first.`;
}

function numberOr<T>(headers: FitsHeaders, keyword: string, otherwise: T): number | T {
  const value = headers.get(keyword);
  return typeof value === 'number' && Number.isFinite(value) ? value : otherwise;
}
