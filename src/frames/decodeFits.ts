import { PolewardError } from '../error.js';
import type { FitsHeaders, FitsValue } from './fitsCard.js';
import { type Hdu, readHdus } from './fitsHdu.js';
import { decodePixels } from './fitsPixels.js';
import type { Image } from './frame.js';
import { meanOfPlanes } from './luminance.js';
import { refuseTooManyPixels } from './tooLarge.js';

export interface DecodedFits {
  readonly image: Image;
  /** Of the HDU the picture is in; where that is an extension, what only the primary header says is included. */
  readonly headers: FitsHeaders;
  /** True where the picture has the raw pixels of a 2x2 colour mosaic. */
  readonly mosaic: boolean;
}

/**
 * The first picture in a FITS file: two axes, or three planes of one picture (reduced to their mean); further axes of length 1 don't matter.
 * Tables and units without data are passed over.
 * The bytes are used up: the pixels returned may lie in the same memory, turned into the machine's byte order.
 * `file` names the file in messages.
 * Throws {@link PolewardError} `file-truncated`, `not-an-image` or `too-large`.
 */
export function decodeFits(bytes: Buffer, file: string): DecodedFits {
  let primary: Map<string, FitsValue> | null = null;
  let instead = 'it holds no picture';
  for (const hdu of readHdus(bytes, file)) {
    primary ??= hdu.headers;
    if (hdu.headers.get('ZIMAGE') === true) instead = 'its picture is stored as a compressed table';
    if (!isPicture(hdu)) continue;
    const shape = shapeOf(hdu.axes);
    if (shape === null) {
      instead = `its data has the axes ${hdu.axes.join(' × ')}, which is neither one picture nor three colour planes`;
      continue;
    }
    const { width, height, planes } = shape;
    refuseTooManyPixels(width * height, file);
    const { data, ceiling } = decodePixels(hdu.data, hdu.bitpix, {
      scale: numberOr(hdu.headers, 'BSCALE', 1),
      zero: numberOr(hdu.headers, 'BZERO', 0),
      blank: numberOr(hdu.headers, 'BLANK', null),
    });
    const headers = new Map([...primary, ...hdu.headers]);
    return {
      image: { width, height, data: meanOfPlanes(data, width * height, planes, 'planes'), ceiling },
      headers,
      mosaic: planes === 1 && isMosaic(headers),
    };
  }
  throw new PolewardError('not-an-image', `${file} is a FITS file, but ${instead}. Give frames saved as plain, uncompressed FITS images.`);
}

function isPicture({ headers, data }: Hdu): boolean {
  const extension = headers.get('XTENSION');
  const kind = extension === undefined || extension === 'IMAGE';
  return kind && headers.get('GROUPS') !== true && data.length > 0;
}

/** BAYERPAT names the colours of the cell row by row, "RGGB": common practice. A larger cell is no business of a 2x2 mean. */
function isMosaic(headers: FitsHeaders): boolean {
  return /^[RGB]{4}$/i.test(String(headers.get('BAYERPAT') ?? '').trim());
}

/** Width, height and number of planes, or null where the axes are no picture's. */
function shapeOf(axes: readonly number[]): { width: number; height: number; planes: number } | null {
  const [width, height, planes = 1, ...more] = axes;
  if (width === undefined || height === undefined) return null;
  if ((planes !== 1 && planes !== 3) || more.some((length) => length !== 1)) return null;
  return { width, height, planes };
}

function numberOr<T>(headers: FitsHeaders, keyword: string, otherwise: T): number | T {
  const value = headers.get(keyword);
  return typeof value === 'number' && Number.isFinite(value) ? value : otherwise;
}
