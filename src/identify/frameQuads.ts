import type { QuadChoices } from './quadChoices.js';
import { describeQuad, emptyChords, emptyQuad, measureChords } from './quads.js';

/**
 * A frame's quads as one supposed lens shows them, in both parities where it is not known, and in each order that errors of
 * their places leave open; sorted into bins by description, so that a quad of the sky finds those like it at once.
 */
export interface FrameQuads {
  /** Places of C and D, by how much they may differ, and the chord from A to B: 6 numbers an entry. */
  readonly codes: Float64Array;
  /** Places of A and B in the list of spots, and 1 if mirrored: 3 numbers an entry. */
  readonly ends: Uint8Array;
  /** Bins along each of the four places; the entries of a bin stand from its start to the start of the next. */
  readonly bins: number;
  readonly start: Int32Array;
  readonly entries: Int32Array;
}

export const ENTRY_NUMBERS = 6;
/** Bins are about this many times as wide as places may differ. */
const BIN_WIDTHS = 3;
/** More bins would find fewer entries, in more memory than a processor keeps at hand. */
const MOST_BINS = 16;

/** What is supposed of the frame's quads. */
export interface FrameQuadsAsked {
  /** Range of the chords from A to B. */
  readonly shortest: number;
  readonly longest: number;
  /** By how much a place may differ, in half chords from A to B, beside the errors of spots. */
  readonly tolerance: number;
  /** Error of a spot, radians. */
  readonly spotError: number;
  readonly parities: readonly boolean[];
}

/** @param rays directions of the chosen spots in the camera, unmirrored, 3 numbers each */
export function makeFrameQuads(rays: Float64Array, { spots, sets }: QuadChoices, asked: FrameQuadsAsked): FrameQuads {
  const { shortest, longest, tolerance, spotError, parities } = asked;
  const all = Int32Array.from(spots.keys());
  const chords = emptyChords(spots.length);
  measureChords(rays, all, spots.length, chords);
  const quad = emptyQuad();
  const codes: number[] = [], ends: number[] = [];
  const add = (mirrored: boolean, a: number, b: number, cx: number, cy: number, dx: number, dy: number, open: number): void => {
    const m = mirrored ? -1 : 1;
    codes.push(cx, m * cy, dx, m * dy, open, quad.side);
    ends.push(a, b, mirrored ? 1 : 0);
  };
  for (let s = 0; s < sets.length; s += 4) {
    if (!describeQuad(rays, all, chords, sets[s]!, sets[s + 1]!, sets[s + 2]!, sets[s + 3]!, shortest, longest, quad)) continue;
    const { a, b, cx, cy, dx, dy } = quad;
    const open = tolerance + (2 * spotError) / quad.side;
    const swaps = dx - cx < 2 * open, turns = -cx - dx < 2 * open;
    for (const mirrored of parities) {
      add(mirrored, a, b, cx, cy, dx, dy, open);
      if (swaps) add(mirrored, a, b, dx, dy, cx, cy, open);
      if (turns) add(mirrored, b, a, -dx, -dy, -cx, -cy, open);
      if (turns && swaps) add(mirrored, b, a, -cx, -cy, -dx, -dy, open);
    }
  }
  const bins = Math.max(4, Math.min(MOST_BINS, Math.round(2 / (BIN_WIDTHS * (tolerance + (4 * spotError) / (shortest + longest))))));
  return { codes: Float64Array.from(codes), ends: Uint8Array.from(ends), bins, ...sortIntoBins(codes, bins) };
}

function sortIntoBins(codes: readonly number[], bins: number): Pick<FrameQuads, 'start' | 'entries'> {
  const count = codes.length / ENTRY_NUMBERS;
  const start = new Int32Array(bins ** 4 + 1);
  eachBin(codes, count, bins, (bin) => start[bin + 1]!++);
  for (let b = 0; b < bins ** 4; b++) start[b + 1]! += start[b]!;
  const fill = start.slice();
  const entries = new Int32Array(start[bins ** 4]!);
  eachBin(codes, count, bins, (bin, entry) => { entries[fill[bin]!++] = entry; });
  return { start, entries };
}

/** Calls for each bin that is within reach of an entry. */
function eachBin(codes: readonly number[], count: number, bins: number, call: (bin: number, entry: number) => void): void {
  for (let e = 0; e < count; e++) {
    const at = ENTRY_NUMBERS * e;
    const open = codes[at + 4]!;
    const [a, b, c, d] = [0, 1, 2, 3].map((k) => binOf(codes[at + k]! - open, bins)) as [number, number, number, number];
    const [a1, b1, c1, d1] = [0, 1, 2, 3].map((k) => binOf(codes[at + k]! + open, bins)) as [number, number, number, number];
    for (let i = a; i <= a1; i++) {
      for (let j = b; j <= b1; j++) {
        for (let k = c; k <= c1; k++) for (let l = d; l <= d1; l++) call(((i * bins + j) * bins + k) * bins + l, e);
      }
    }
  }
}

function binOf(place: number, bins: number): number {
  const bin = Math.floor(((place + 1) / 2) * bins);
  return bin < 0 ? 0 : bin >= bins ? bins - 1 : bin;
}

/** Writes the numbers of the entries that are like a quad of the sky into `out`; returns how many (at most out.length). */
export function findLike(
  { codes, bins, start, entries }: FrameQuads, cx: number, cy: number, dx: number, dy: number, out: Int32Array,
): number {
  const bin = ((binOf(cx, bins) * bins + binOf(cy, bins)) * bins + binOf(dx, bins)) * bins + binOf(dy, bins);
  const to = start[bin + 1]!;
  let n = 0;
  for (let s = start[bin]!; s < to; s++) {
    const entry = entries[s]!, at = ENTRY_NUMBERS * entry;
    const open = codes[at + 4]!;
    if (Math.abs(codes[at]! - cx) > open || Math.abs(codes[at + 1]! - cy) > open) continue;
    if (Math.abs(codes[at + 2]! - dx) > open || Math.abs(codes[at + 3]! - dy) > open) continue;
    if (n < out.length) out[n++] = entry;
  }
  return n;
}
