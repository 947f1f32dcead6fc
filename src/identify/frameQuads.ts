import type { QuadChoices } from './quadChoices.js';
import { describeQuad, emptyChords, emptyQuad, measureChords } from './quads.js';

/**
 * A frame's quads as one supposed lens shows them, in both parities where it is not known, and in each order that errors of
 * their places leave open; sorted into bins by description, so that a quad of the sky finds those like it at once.
 */
export interface FrameQuads {
  /** Places of A and B in the list of spots, and 1 if mirrored: 3 numbers an entry. */
  readonly ends: Uint8Array;
  /** Chord from A to B of each entry. */
  readonly sides: Float64Array;
  /** Bins along each of the four places; the slots of a bin stand from its start to the start of the next. */
  readonly bins: number;
  readonly start: Int32Array;
  /** Places of C and D, by how much they may differ, the chord from A to B, the number of the entry: `SLOT_NUMBERS` a slot. */
  readonly slots: Float32Array;
  /** A bit for each of finer bins, so many along each place, that an entry reaches into; none where they would tell little. */
  readonly fineBins: number;
  readonly reached: Uint32Array;
}

/** A power of two: 32 bytes. */
export const SLOT_NUMBERS = 8;
/** Bins are about this many times as wide as places may differ. */
const BIN_WIDTHS = 3;
/** More bins would find fewer entries, in more memory than a processor keeps at hand. */
const MOST_BINS = 16;
/** Bits are so small that there may be more of them. */
const FINE_BINS = 32;

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
  const codes: number[] = [], ends: number[] = [], sides: number[] = [];
  const add = (mirrored: boolean, a: number, b: number, cx: number, cy: number, dx: number, dy: number, open: number): void => {
    const m = mirrored ? -1 : 1;
    codes.push(cx, m * cy, dx, m * dy, open);
    sides.push(quad.side);
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
  const usual = tolerance + (4 * spotError) / (shortest + longest);
  const bins = Math.max(4, Math.min(MOST_BINS, Math.round(2 / (BIN_WIDTHS * usual))));
  const fineBins = BIN_WIDTHS * usual * FINE_BINS > 2 ? 0 : FINE_BINS;
  return {
    ends: Uint8Array.from(ends), sides: Float64Array.from(sides), bins, ...sortIntoBins(codes, sides, bins),
    fineBins, reached: fineBins === 0 ? new Uint32Array(0) : reachedBins(codes, fineBins),
  };
}

const CODE_NUMBERS = 5;

function sortIntoBins(codes: readonly number[], sides: readonly number[], bins: number): Pick<FrameQuads, 'start' | 'slots'> {
  const start = new Int32Array(bins ** 4 + 1);
  eachBin(codes, bins, (bin) => { start[bin + 1]!++; });
  for (let b = 0; b < bins ** 4; b++) start[b + 1]! += start[b]!;
  const fill = start.slice();
  const slots = new Float32Array(SLOT_NUMBERS * start[bins ** 4]!);
  eachBin(codes, bins, (bin, entry) => {
    const to = SLOT_NUMBERS * fill[bin]!++;
    for (let k = 0; k < CODE_NUMBERS; k++) slots[to + k] = codes[CODE_NUMBERS * entry + k]!;
    slots[to + CODE_NUMBERS] = sides[entry]!;
    slots[to + CODE_NUMBERS + 1] = entry;
  });
  return { start, slots };
}

function reachedBins(codes: readonly number[], bins: number): Uint32Array {
  const reached = new Uint32Array(Math.ceil(bins ** 4 / 32));
  eachBin(codes, bins, (bin) => { reached[bin >>> 5]! |= 1 << (bin & 31); });
  return reached;
}

/** Calls for each bin that is within reach of an entry. */
function eachBin(codes: readonly number[], bins: number, call: (bin: number, entry: number) => void): void {
  for (let entry = 0, at = 0; at < codes.length; entry++, at += CODE_NUMBERS) {
    const cx = codes[at]!, cy = codes[at + 1]!, dx = codes[at + 2]!, dy = codes[at + 3]!, open = codes[at + 4]!;
    const i1 = binOf(cx + open, bins), j0 = binOf(cy - open, bins), j1 = binOf(cy + open, bins);
    const k0 = binOf(dx - open, bins), k1 = binOf(dx + open, bins), l0 = binOf(dy - open, bins), l1 = binOf(dy + open, bins);
    for (let i = binOf(cx - open, bins); i <= i1; i++) {
      for (let j = j0; j <= j1; j++) {
        for (let k = k0; k <= k1; k++) {
          const row = ((i * bins + j) * bins + k) * bins;
          for (let l = l0; l <= l1; l++) call(row + l, entry);
        }
      }
    }
  }
}

function binOf(place: number, bins: number): number {
  const bin = Math.floor(((place + 1) / 2) * bins);
  return bin < 0 ? 0 : bin >= bins ? bins - 1 : bin;
}

/**
 * Writes the numbers of the entries that are like a quad of the sky into `out`; returns how many (at most out.length). Compared in 32 bits.
 *
 * @param shortest the side in the frame is from `shortest` to `longest`, chords
 */
export function findLike(
  { bins, start, slots }: FrameQuads, cx: number, cy: number, dx: number, dy: number, shortest: number, longest: number, out: Int32Array,
): number {
  const [c0, c1, d0, d1] = [Math.fround(cx), Math.fround(cy), Math.fround(dx), Math.fround(dy)];
  const bin = ((roundedBin(c0, bins) * bins + roundedBin(c1, bins)) * bins + roundedBin(d0, bins)) * bins + roundedBin(d1, bins);
  const to = SLOT_NUMBERS * start[bin + 1]!;
  let n = 0;
  for (let at = SLOT_NUMBERS * start[bin]!; at < to; at += SLOT_NUMBERS) {
    const open = slots[at + 4]!, side = slots[at + 5]!;
    if (apart(slots[at]!, c0) > open || apart(slots[at + 1]!, c1) > open) continue;
    if (apart(slots[at + 2]!, d0) > open || apart(slots[at + 3]!, d1) > open) continue;
    if (side >= shortest && side <= longest && n < out.length) out[n++] = slots[at + 6]!;
  }
  return n;
}

function apart(a: number, b: number): number {
  return Math.abs(Math.fround(a - b));
}

/** The bin of a place in 32 bits. */
function roundedBin(place: number, bins: number): number {
  const bin = Math.trunc(Math.fround(Math.fround(place + 1) * (bins / 2)));
  return bin < 0 ? 0 : bin >= bins ? bins - 1 : bin;
}
