import { convertIndexedToRgb, decode } from 'fast-png';
import { latin1, viewOf } from '../../frames/bytes.js';
import type { OpenPicture, PictureSamples } from '../../frames/decoders.js';
import { browserPicture } from './browserPicture.js';
import { packedWithin } from './packedWithin.js';

/** Samples a pixel by colour type (PNG, third edition, section 11.2.1). */
const CHANNELS: Readonly<Record<number, number>> = { 0: 1, 2: 3, 3: 3, 4: 2, 6: 4 };
const INDEXED = 3;

/** A PNG picture: `fast-png` reads 16 bits a sample and transparency, the browser all else. Throws where there is none. */
export function pngPicture(bytes: Uint8Array): OpenPicture {
  const view = viewOf(bytes);
  if (bytes.length < 33 || latin1(bytes, 12, 16) !== 'IHDR') throw new Error('no header');
  const [width, height, depth, type, passes] = [view.getUint32(16), view.getUint32(20), bytes[24]!, bytes[25]!, bytes[28]!];
  const channels = CHANNELS[type];
  if (channels === undefined || width === 0 || height === 0 || ![1, 2, 4, 8, 16].includes(depth)) throw new Error('no picture');
  const pieces = piecesOf(bytes);
  const head = {
    width, height, channels, inPasses: passes !== 0, exif: pieces.find(({ name }) => name === 'eXIf')?.data ?? null, xmp: null,
    otherColours: null,
  };
  const transparent = type === 4 || type === 6 || pieces.some(({ name }) => name === 'tRNS');
  if (depth !== 16 && !transparent) return browserPicture({ ...head, plain: bytes }, 'image/png');
  const packed = pieces.filter(({ name }) => name === 'IDAT').map(({ data }) => data);
  // With a byte a row for its filter; passes have more rows.
  const rowBytes = Math.ceil(width * depth * (type === INDEXED ? 1 : channels) / 8);
  const needed = height * (rowBytes + 1) + (passes === 0 ? 0 : 8 * (width + height));
  return {
    ...head, sampleBytes: depth === 16 ? 2 : 1, floatingPoint: false, pages: 1,
    samples: async () => {
      if (!await packedWithin(packed, 'deflate', needed)) throw new Error('it unpacks to more than its picture');
      return samplesOf(bytes, depth);
    },
  };
}

function samplesOf(bytes: Uint8Array, depth: number): PictureSamples {
  const picture = decode(bytes, { checkCrc: true });
  const { width, height } = picture;
  if (picture.palette) return dropped(convertIndexedToRgb(picture), width, height, picture.palette[0]?.length ?? 3, 3, 255);
  if (depth < 8) throw new Error('samples of less than a byte, and transparent');
  const opaque = picture.channels === 2 ? 1 : picture.channels === 4 ? 3 : picture.channels;
  return dropped(picture.data, width, height, picture.channels, opaque, depth === 16 ? 65535 : 255);
}

/** Without transparency. */
function dropped(
  data: Uint8Array | Uint8ClampedArray | Uint16Array, width: number, height: number, channels: number, opaque: number, ceiling: number,
): PictureSamples {
  const whole = data instanceof Uint8ClampedArray ? new Uint8Array(data.buffer, data.byteOffset, data.length) : data;
  if (channels !== opaque) {
    for (let i = 0; i < width * height; i++) for (let c = 0; c < opaque; c++) whole[i * opaque + c] = whole[i * channels + c]!;
  }
  return { width, height, channels: opaque, data: whole.subarray(0, width * height * opaque), ceiling };
}

interface Piece {
  readonly name: string;
  readonly data: Uint8Array;
}

function piecesOf(bytes: Uint8Array): Piece[] {
  const view = viewOf(bytes);
  const pieces: Piece[] = [];
  for (let at = 8; at + 12 <= bytes.length;) {
    const end = at + 8 + view.getUint32(at);
    if (end + 4 > bytes.length) break;
    pieces.push({ name: latin1(bytes, at + 4, at + 8), data: bytes.subarray(at + 8, end) });
    at = end + 4;
  }
  return pieces;
}
