import { FitsStructure } from 'fits-reader/dist/fits-structure.js';
import { PolewardError } from '../error.js';
import { latin1 } from './bytes.js';
import { type FitsHeaders, type FitsValue, keywordOf, parseCards } from './fitsCard.js';

const BLOCK = 2880;
const CARD = 80;
const BLANK = 0x20;
/** No camera writes longer headers. */
const LONGEST_HEADER = 2 ** 22;
/** The most that all headers of a file may take together, as of a thousand units. */
const MOST_HEADER_BYTES = 2 ** 23;
export const BITPIX: readonly number[] = [8, 16, 32, 64, -32, -64];

/** One header and data unit. */
export interface Hdu {
  readonly headers: Map<string, FitsValue>;
  readonly bitpix: number;
  /** Lengths of the axes, NAXIS1 first; empty where there are none. */
  readonly axes: readonly number[];
  /** False where the END card's block goes on with anything but blanks: zeros of a careless writer, or a file written only in part. */
  readonly blankAfterEnd: boolean;
  /** The data unit without its padding: a view on the file's bytes. */
  readonly data: Uint8Array;
}

/**
 * Works around three faults of fits-reader: it decodes as UTF-8, so that a stray byte changes a card's length; it takes any card that
 * starts with END for the last; and it logs each CONTINUE card. Lower-case keywords, which FITS does not have, get past the last two, and
 * {@link parseCards} reads them all the same.
 */
class QuietStructure extends FitsStructure {
  /** Its type asks for node's Buffer; the methods used here also exist on Uint8Array. */
  constructor(bytes: Uint8Array) {
    super(bytes as Buffer);
  }

  override getMetadataBlock(blockNumber: number): string[] {
    return splitCards(this.getDataBlock(blockNumber)).map((card) =>
      card.startsWith('CONTINUE') || (card.startsWith('END') && keywordOf(card) !== 'END')
        ? card.slice(0, 8).toLowerCase() + card.slice(8)
        : card,
    );
  }
}

/** What a header says of itself and of the data behind it. */
export interface HduSizes {
  readonly headers: Map<string, FitsValue>;
  readonly bitpix: number;
  readonly axes: readonly number[];
  readonly headerBytes: number;
  /** Without padding. */
  readonly dataBytes: number;
}

/**
 * The header and data units of a FITS file, in order. Every size is checked against the file's length before it is used. Throws
 * `file-truncated` where the file ends too early, `not-an-image` where a header contradicts itself. Source: FITS Standard 4.0 (2018),
 * sections 3 and 4.4.1.
 */
export function* readHdus(bytes: Uint8Array, file: string): Generator<Hdu> {
  let start = 0;
  let read = 0;
  while (start < bytes.length) {
    const rest = bytes.subarray(start);
    if (start > 0 && !beginsExtension(rest)) return;
    const structure = new QuietStructure(rest);
    const sizes = readHeader(rest, file, structure);
    if (sizes === null) throw truncated(file, 'ends within its header');
    const { headers, bitpix, axes, headerBytes, dataBytes } = sizes;
    read = withHeader(read, sizes, file);
    // A NaN or an overflow to infinity is caught here too.
    if (!(headerBytes + dataBytes <= rest.length)) {
      throw truncated(file, `has ${rest.length - headerBytes} bytes of data where its header says ${dataBytes}`);
    }
    const blankAfterEnd = rest[headerBytes - 1] === BLANK;
    yield { headers, bitpix, axes, blankAfterEnd, data: dataUnit(structure, rest, headerBytes, dataBytes, axes) };
    start += paddedBytes(sizes);
  }
}

/**
 * Adds a header to the bytes of headers read so far. Throws `too-large` for more than any camera's files have: reading cards takes time.
 */
export function withHeader(read: number, { headerBytes }: HduSizes, file: string): number {
  if (read + headerBytes <= MOST_HEADER_BYTES) return read + headerBytes;
  throw new PolewardError(
    'too-large', `${file} has more than ${MOST_HEADER_BYTES / 2 ** 20} MiB of FITS headers, which no frame needs. Save the picture alone.`,
  );
}

/** What may follow the last unit (special records, or a writer's padding) is not a header. */
export function beginsExtension(rest: Uint8Array): boolean {
  return latin1(rest, 0, 8) === 'XTENSION';
}

/** Bytes of header and data together, padding included. */
export function paddedBytes({ headerBytes, dataBytes }: HduSizes): number {
  return Math.ceil((headerBytes + dataBytes) / BLOCK) * BLOCK;
}

/** The header at the start of `rest`; null where its end is missing. Throws `not-an-image` where it contradicts itself or has no end. */
export function readHeader(rest: Uint8Array, file: string, structure: FitsStructure = new QuietStructure(rest)): HduSizes | null {
  const headerBytes = headerLength(rest.subarray(0, LONGEST_HEADER));
  if (headerBytes === null) {
    if (rest.length > LONGEST_HEADER) throw damaged(file, 'its header has no end');
    return null;
  }
  const headers = parseCards(structure.getRawHeaders());
  const bitpix = integer(headers, 'BITPIX', file);
  if (!BITPIX.includes(bitpix)) throw damaged(file, `BITPIX ${bitpix} is none that FITS knows`);
  const axes = axisLengths(headers, file);
  return { headers, bitpix, axes, headerBytes, dataBytes: (Math.abs(bitpix) / 8) * elementCount(headers, axes, file) };
}

/** The data unit by fits-reader where it reads the header as we do (it leaves out the PCOUNT bytes behind a table). */
function dataUnit(
  structure: QuietStructure, rest: Uint8Array, headerBytes: number, dataBytes: number, axes: readonly number[],
): Uint8Array {
  let unit: Uint8Array | null = null;
  try {
    // Where it can't read NAXIS it logs.
    const readsAxes = parseInt(structure.getHeaderMap().get('NAXIS') ?? '', 10) === axes.length;
    if (readsAxes && axes.length > 0) unit = structure.getDataUnit();
  } catch {
    // It compares BITPIX as text and refuses forms ("+16") that the standard allows.
  }
  return unit !== null && unit.byteOffset === rest.byteOffset + headerBytes && unit.length >= dataBytes
    ? unit.subarray(0, dataBytes)
    : rest.subarray(headerBytes, headerBytes + dataBytes);
}

/** Bytes from the start to the end of the block that holds the END card; null where there is none. */
function headerLength(bytes: Uint8Array): number | null {
  for (let at = 0; at + CARD <= bytes.length; at += CARD) {
    if (bytes[at] === 0x45 && keywordOf(latin1(bytes, at, at + 8)) === 'END') {
      const end = Math.ceil((at + CARD) / BLOCK) * BLOCK;
      return end <= bytes.length ? end : null;
    }
  }
  return null;
}

function splitCards(block: Uint8Array): string[] {
  const text = latin1(block);
  return Array.from({ length: BLOCK / CARD }, (_, i) => text.slice(i * CARD, (i + 1) * CARD));
}

/** NAXIS1, NAXIS2, …, or of a compressed picture (`prefix` Z) ZNAXIS1, …. Throws `not-an-image` where one is missing or negative. */
export function axisLengths(headers: FitsHeaders, file: string, prefix: '' | 'Z' = ''): number[] {
  const naxis = `${prefix}NAXIS`;
  const count = integer(headers, naxis, file);
  if (count < 0 || count > 999) throw damaged(file, `${naxis} is ${count}`);
  return Array.from({ length: count }, (_, i) => {
    const length = integer(headers, `${naxis}${i + 1}`, file);
    if (length < 0) throw damaged(file, `${naxis}${i + 1} is ${length}`);
    return length;
  });
}

/** Elements of the data unit: FITS 4.0 eq. 1 and 2, and eq. 4 for random groups (NAXIS1 = 0). */
function elementCount(headers: Map<string, FitsValue>, axes: readonly number[], file: string): number {
  const groups = headers.get('GROUPS') === true && axes[0] === 0;
  const sizes = groups ? axes.slice(1) : axes;
  if (sizes.length === 0) return 0;
  const product = sizes.reduce((a, b) => a * b, 1);
  if (!headers.has('XTENSION') && !groups) return product;
  const parameters = headers.has('PCOUNT') ? integer(headers, 'PCOUNT', file) : 0;
  const copies = headers.has('GCOUNT') ? integer(headers, 'GCOUNT', file) : 1;
  if (parameters < 0 || copies < 0) throw damaged(file, 'PCOUNT or GCOUNT is negative');
  return copies * (parameters + product);
}

/** An integer that the header must give. Throws `not-an-image` where it doesn't. */
export function integer(headers: FitsHeaders, keyword: string, file: string): number {
  const value = headers.get(keyword);
  if (typeof value === 'number' && Number.isSafeInteger(value)) return value;
  throw damaged(file, value === undefined ? `${keyword} is missing` : `${keyword} is not an integer`);
}

export function truncated(file: string, what: string): PolewardError {
  return new PolewardError('file-truncated', `${file} is cut short: it ${what}. Copy or save it again.`);
}

export function damaged(file: string, what: string): PolewardError {
  return new PolewardError('not-an-image', `${file} has a damaged FITS header: ${what}. Save it again, or leave it out.`);
}
