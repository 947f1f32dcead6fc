import { Gunzip } from 'fflate';

/** Packed bytes that are unpacked at a time. They become at most a thousand times as many. */
const STEP_BYTES = 2 ** 14;

/** Unpacks gzip (RFC 1952) piece by piece, no further than pieces are asked for. Throws where it is damaged. */
export function* gunzipSteps(packed: Uint8Array): Generator<Uint8Array> {
  const pieces: Uint8Array[] = [];
  let checked = false;
  const unpacker = new Gunzip((piece, final) => {
    if (piece.length > 0) pieces.push(piece);
    checked ||= final;
  });
  for (let at = 0; at < packed.length; at += STEP_BYTES) {
    unpacker.push(packed.subarray(at, at + STEP_BYTES), at + STEP_BYTES >= packed.length);
    yield* pieces.splice(0);
  }
  if (!checked) throw new Error('it ends too early');
}

/** All of it at once. Throws where it is damaged or unpacks to more than `mostBytes`. */
export function gunzipAll(packed: Uint8Array, mostBytes: number): Uint8Array {
  const pieces: Uint8Array[] = [];
  let length = 0;
  for (const piece of gunzipSteps(packed)) {
    length += piece.length;
    if (length > mostBytes) throw new Error('it unpacks to more than it may');
    pieces.push(piece);
  }
  if (pieces.length === 1) return pieces[0]!;
  const all = new Uint8Array(length);
  let at = 0;
  for (const piece of pieces) {
    all.set(piece, at);
    at += piece.length;
  }
  return all;
}
