import { createInflateRaw, inflateRawSync } from 'node:zlib';

/** CRC-32 by bytes (RFC 1952, section 8). */
const TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let bit = 0; bit < 8; bit++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

function crc32(bytes: Uint8Array, before = 0): number {
  let crc = ~before;
  for (let at = 0; at < bytes.length; at++) crc = (TABLE[(crc ^ (bytes[at] as number)) & 0xff] as number) ^ (crc >>> 8);
  return ~crc >>> 0;
}

const TRAILER_BYTES = 8;
const [HEADER_CRC, EXTRA, NAME, COMMENT] = [2, 4, 8, 16];

/** Where the packed data of a gzip member begin (RFC 1952, section 2.3). */
function dataStart(packed: Buffer): number {
  const flags = packed[3] ?? 0;
  let at = 10;
  if (flags & EXTRA) at += 2 + packed.readUInt16LE(at);
  for (const flag of [NAME, COMMENT]) if (flags & flag) at = packed.indexOf(0, at) + 1;
  return at + (flags & HEADER_CRC ? 2 : 0);
}

/** Throws where the unpacked data do not match the checksum. */
function check(packed: Buffer, trailer: number, crc: number): void {
  if (trailer + TRAILER_BYTES > packed.length || packed.readUInt32LE(trailer) !== crc) throw new Error('the checksum differs');
}

/**
 * The first member of a gzip file, whatever follows it; node's own unpacker takes what follows for another member and fails. Throws where
 * it is damaged.
 */
export function firstMember(packed: Uint8Array, mostBytes: number): Buffer {
  const bytes = Buffer.from(packed.buffer, packed.byteOffset, packed.byteLength);
  const start = dataStart(bytes);
  const { buffer, engine } = inflateRawSync(bytes.subarray(start), { maxOutputLength: mostBytes, info: true }) as unknown as
    { buffer: Buffer; engine: { bytesWritten: number } };
  check(bytes, start + engine.bytesWritten, crc32(buffer));
  return buffer;
}

/** The same in pieces, without the first `skipped` bytes; the last piece comes after the checksum is tested. */
export async function* firstMemberPieces(packed: Uint8Array, skipped: number, pieceBytes: number): AsyncGenerator<Uint8Array> {
  const bytes = Buffer.from(packed.buffer, packed.byteOffset, packed.byteLength);
  const start = dataStart(bytes);
  const stream = createInflateRaw({ chunkSize: pieceBytes });
  stream.end(bytes.subarray(start));
  let [crc, left] = [0, skipped];
  let waiting: Uint8Array | null = null;
  try {
    for await (const piece of stream as AsyncIterable<Buffer>) {
      crc = crc32(piece, crc);
      if (waiting) yield waiting;
      waiting = piece.subarray(Math.min(left, piece.length));
      left -= Math.min(left, piece.length);
    }
    check(bytes, start + stream.bytesWritten, crc);
    if (waiting) yield waiting;
  } finally {
    stream.destroy();
  }
}
