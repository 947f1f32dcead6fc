import { PolewardError } from '../error.js';
import type { FrameDecoders } from './decoders.js';
import { fileKind } from './fileKind.js';
import { beginsExtension, paddedBytes, readHeader, withHeader } from './fitsHdu.js';
import { LARGEST_UNPACKED_BYTES, PACKED_BYTES, refuseMemory, refuseThinPacking, unpacksTooLarge } from './tooLarge.js';

/** The most that is unpacked behind the last unit, to find the file's checksum. */
const MOST_BEHIND_BYTES = 2 ** 22;
/** Memory at the start. */
const FIRST_BYTES = 2 ** 20;

/**
 * The FITS file in a gzip file (RFC 1952). The sizes in its headers are checked as soon as they are unpacked, before memory for the data is
 * taken. Of what follows the last unit only a little is unpacked, since a file filled in part with 0xff may go on without an end:
 * `damagedBehind` says whether it is damaged. Throws {@link PolewardError} `not-an-image` where it is not FITS, `file-truncated`,
 * `too-large`.
 */
export async function gunzipFits(
  packed: Uint8Array, file: string, gunzipPieces: FrameDecoders['gunzipPieces'],
): Promise<{ readonly bytes: Uint8Array; readonly damagedBehind: boolean }> {
  const most = packed.length * PACKED_BYTES.mostInAByte;
  let room = new Uint8Array(Math.min(FIRST_BYTES, most));
  let [length, unitStart, unitEnd, headersRead] = [0, 0, null as number | null, 0];
  let [end, behind] = [null as number | null, 0];
  try {
    for await (const chunk of gunzipPieces(packed)) {
      if (end !== null) {
        behind += chunk.length;
        if (behind > MOST_BEHIND_BYTES) return { bytes: room.subarray(0, end), damagedBehind: false };
        continue;
      }
      const needed = Math.max(length + chunk.length, Math.min(unitEnd ?? 0, most));
      if (needed > room.length) room = grown(room, length, needed);
      room.set(chunk, length);
      length += chunk.length;
      for (;;) {
        const unit: Uint8Array = room.subarray(unitStart, length);
        if (unitEnd === null) {
          if (unit.length < 8) break;
          if (unitStart === 0 && fileKind(unit) !== 'fits') throw notFits(file);
          if (unitStart > 0 && !beginsExtension(unit)) {
            end = unitStart;
            break;
          }
          const header = readHeader(unit, file);
          if (header === null) break;
          headersRead = withHeader(headersRead, header, file);
          unitEnd = unitStart + paddedBytes(header);
          if (!(unitEnd <= LARGEST_UNPACKED_BYTES)) throw unpacksTooLarge(file, unitEnd);
          refuseThinPacking(unitEnd, packed.length, file, PACKED_BYTES, 'bytes');
          refuseMemory(packed.length + unitEnd, file);
        }
        if (length < unitEnd) break;
        [unitStart, unitEnd] = [unitEnd, null];
      }
    }
  } catch (error) {
    if (end !== null) return { bytes: room.subarray(0, end), damagedBehind: true };
    if (error instanceof PolewardError) throw error;
    throw new PolewardError('file-truncated', `${file} is gzip-compressed but cut short or damaged. Copy or save it again.`);
  }
  if (unitStart === 0 && fileKind(room.subarray(0, length)) !== 'fits') throw notFits(file);
  return { bytes: room.subarray(0, end ?? length), damagedBehind: false };
}

/** More memory with the same beginning: at least `needed`, and never only a little more. */
function grown(room: Uint8Array, length: number, needed: number): Uint8Array<ArrayBuffer> {
  const larger = new Uint8Array(Math.max(needed, Math.min(2 * room.length, LARGEST_UNPACKED_BYTES)));
  larger.set(room.subarray(0, length));
  return larger;
}

function notFits(file: string): PolewardError {
  return new PolewardError(
    'not-an-image', `${file} is gzip-compressed, but what is in it is no FITS file. Unpack it and give what is in it.`,
  );
}
