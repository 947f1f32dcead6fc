import type { SkyStars } from '../sky/catalogueSky.js';
import { type Chords, type Quad, codeOf, describeQuad, emptyChords, emptyQuad, measureChords, step } from './quads.js';
import { makeSphereGrid } from './sphereGrid.js';

/** Sides of indexed quads, in field widths. */
export const SHORTEST = 0.2;
export const LONGEST = 0.5;
/**
 * Each star makes quads with three of its nearest brighter ones among so many, the more the fewer stars there are: what may
 * be hidden then leaves enough.
 */
const FEWEST_PARTNERS = 5;
const MOST_PARTNERS = 12;
const TRIPLES = triples(MOST_PARTNERS);
/** Brightest stars around a quad that are asked whether a pose makes sense. */
const COMPANIONS = 100;
/** More quads than this are sorted into finer bins. */
const MANY = 400_000;
/** Stars between two pauses of the work. */
const BATCH = 8192;

/** The stars of a part of the sky that frames of one size show best, and their quads by description. */
export interface QuadIndex {
  /** Chord across the field it was made for, radians. */
  readonly fieldWidth: number;
  readonly count: number;
  /** 3·count ICRS directions, neighbours on the sky mostly beside each other. */
  readonly directions: Float64Array;
  /** Bits of each of the four places by which quads are sorted. */
  readonly bits: number;
  /** Quads of bin b stand at start[b] … start[b + 1] - 1. */
  readonly start: Int32Array;
  readonly codes: Uint32Array;
  /** Faintest star of each quad times {@link TRIPLE_NUMBERS}, plus which of its partners the others are. */
  readonly ids: Uint32Array;
  /** Partners of each star, `most` of them a star. */
  readonly most: number;
  readonly partners: Int32Array;
  /** The brightest indexed stars around one of them. */
  companions(star: number): Int32Array;
}

const TRIPLE_NUMBERS = 256;

/** How much goes into an index. */
export interface IndexSize {
  /** Stars in a square of half a field's width: a frame of 3 : 2 holds nearly three such squares. */
  readonly starsPerCell: number;
  /** About how many sets of four stars are looked at. */
  readonly tried: number;
}

/**
 * Chooses the stars that fields of one width show best and indexes their quads. Pauses (yields) every few milliseconds.
 *
 * @param stars brightest first
 * @param fieldWidth radians
 */
export function* buildQuadIndex(
  stars: SkyStars, fieldWidth: number, { starsPerCell, tried }: IndexSize,
): Generator<null, QuadIndex> {
  const spread = yield* bestSpread(stars, fieldWidth / 2, starsPerCell);
  const count = spread.length / 3;
  const longest = LONGEST * fieldWidth, shortest = SHORTEST * fieldWidth;
  const grid = makeSphereGrid(spread, count, longest);
  yield null;
  // In the order of the grid: what is near on the sky is near in memory. Its rank says how bright a star is.
  const rank = grid.members;
  const directions = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) for (let k = 0; k < 3; k++) directions[3 * i + k] = spread[3 * rank[i]! + k]!;
  yield null;
  const most = partnersFor(count, tried);
  const growing: Growing = {
    directions, rank, shortest, longest, most, partners: new Int32Array(most * count).fill(-1), distances: new Float64Array(most),
    quad: emptyQuad(), chords: emptyChords(most + 1), group: new Int32Array(most + 1),
    codes: new Uint32Array(Math.max(1024, 5 * count)), ids: new Uint32Array(Math.max(1024, 5 * count)), count: 0,
  };
  let pause = BATCH;
  for (let cell = 0; cell < grid.cells; cell++) {
    const from = grid.start[cell]!, to = grid.start[cell + 1]!;
    if (from > pause) {
      pause = from + BATCH;
      yield null;
    }
    if (from < to) addQuads(growing, from, to, grid.around(cell));
  }
  yield null;
  const { partners } = growing;
  const sorted = yield* sortByCode(growing.codes, growing.ids, growing.count);
  const lists = new Map<number, Int32Array>();
  return {
    fieldWidth, count, directions, most, partners, ...sorted,
    companions: (star) => {
      const cell = grid.cellOf[rank[star]!]!;
      let list = lists.get(cell);
      if (!list) lists.set(cell, list = brightestAround(grid.around(cell), rank));
      return list;
    },
  };
}

/** An index in the making. */
interface Growing {
  readonly directions: Float64Array;
  readonly rank: Int32Array;
  readonly shortest: number;
  readonly longest: number;
  readonly most: number;
  readonly partners: Int32Array;
  /** Room for the squares of distances to one star's partners. */
  readonly distances: Float64Array;
  /** Room for one star with its partners. */
  readonly quad: Quad;
  readonly chords: Chords;
  readonly group: Int32Array;
  codes: Uint32Array<ArrayBuffer>;
  ids: Uint32Array<ArrayBuffer>;
  count: number;
}

/** Adds the quads whose faintest star is one of from … to - 1, all of one cell. */
function addQuads(growing: Growing, from: number, to: number, near: readonly number[]): void {
  const { directions, partners, most, shortest, longest, quad, chords, group } = growing;
  for (let i = from; i < to; i++) {
    const found = brighterPartners(growing, near, i);
    if (found < 3) continue;
    if (growing.count + TRIPLES.length > growing.codes.length) {
      growing.codes = longer(growing.codes);
      growing.ids = longer(growing.ids);
    }
    for (let p = 0; p < found; p++) group[p] = partners[most * i + p]!;
    group[found] = i;
    measureChords(directions, group, found + 1, chords);
    for (let t = 0; t < TRIPLES.length && TRIPLES[t + 2]! < found; t += 3) {
      const j = TRIPLES[t]!, k = TRIPLES[t + 1]!, l = TRIPLES[t + 2]!;
      if (!describeQuad(directions, group, chords, found, j, k, l, shortest, longest, quad)) continue;
      growing.codes[growing.count] = codeOf(quad);
      growing.ids[growing.count++] = i * TRIPLE_NUMBERS + t / 3;
    }
  }
}

function brightestAround(ranges: readonly number[], rank: Int32Array): Int32Array {
  let count = 0;
  for (let r = 0; r < ranges.length; r += 2) count += ranges[r + 1]! - ranges[r]!;
  // Rank and place in one number: numbers alone are sorted quickly.
  const keys = new Float64Array(count);
  let n = 0;
  for (let r = 0; r < ranges.length; r += 2) for (let i = ranges[r]!; i < ranges[r + 1]!; i++) keys[n++] = rank[i]! * PLACES + i;
  return Int32Array.from(keys.sort().subarray(0, COMPANIONS), (key) => key % PLACES);
}

/** More than there are stars. */
const PLACES = 2 ** 22;

/** All sets of three of the partners, the last of them the farthest. */
function triples(partners: number): Int32Array {
  const out: number[] = [];
  for (let l = 2; l < partners; l++) for (let k = 1; k < l; k++) for (let j = 0; j < k; j++) out.push(j, k, l);
  return Int32Array.from(out);
}

function partnersFor(stars: number, tried: number): number {
  for (let most = MOST_PARTNERS; most > FEWEST_PARTNERS; most--) {
    if (stars * most * (most - 1) * (most - 2) <= 6 * tried) return most;
  }
  return FEWEST_PARTNERS;
}

function longer(a: Uint32Array<ArrayBuffer>): Uint32Array<ArrayBuffer> {
  const out = new Uint32Array(Math.ceil(1.5 * a.length));
  out.set(a);
  return out;
}

/** Directions of the brightest stars of each cell of a width, brightest first. */
function* bestSpread(stars: SkyStars, width: number, perCell: number): Generator<null, Float64Array> {
  const grid = makeSphereGrid(stars.directions, stars.count, width);
  yield null;
  // Cells are a little larger than asked for: so may their number of stars be.
  const inCell = new Uint8Array(grid.cells);
  const out = new Float64Array(3 * stars.count);
  let n = 0;
  for (let i = 0; i < stars.count; i++) {
    const cell = grid.cellOf[i]!;
    if (inCell[cell]! >= perCell) continue;
    inCell[cell]!++;
    out[n++] = stars.directions[3 * i]!;
    out[n++] = stars.directions[3 * i + 1]!;
    out[n++] = stars.directions[3 * i + 2]!;
  }
  yield null;
  return out.slice(0, n);
}

/**
 * Finds the nearest brighter stars of star i within the longest side, nearest first, writes them into its part of `partners`,
 * and returns how many there are.
 *
 * @param near ranges of stars to choose from, brightest first in each
 */
function brighterPartners(growing: Growing, near: readonly number[], i: number): number {
  const { directions, rank, longest, most, partners, distances } = growing;
  const at = most * i;
  const bright = rank[i]!;
  const x = directions[3 * i]!, y = directions[3 * i + 1]!, z = directions[3 * i + 2]!;
  let found = 0;
  let farthest = longest * longest;
  for (let r = 0; r < near.length; r += 2) {
    const to = near[r + 1]!;
    for (let j = near[r]!; j < to; j++) {
      if (rank[j]! >= bright) break;
      const dx = directions[3 * j]! - x, dy = directions[3 * j + 1]! - y, dz = directions[3 * j + 2]! - z;
      const d2 = dx * dx + dy * dy + dz * dz;
      if (d2 >= farthest) continue;
      let p = found < most ? found++ : most - 1;
      for (; p > 0 && distances[p - 1]! > d2; p--) {
        distances[p] = distances[p - 1]!;
        partners[at + p] = partners[at + p - 1]!;
      }
      distances[p] = d2;
      partners[at + p] = j;
      if (found === most) farthest = distances[most - 1]!;
    }
  }
  return found;
}

function binOf(code: number, bits: number): number {
  const shift = 8 - bits;
  return (((code >>> (24 + shift)) << (3 * bits)) | (((code >>> 16) & 255) >>> shift) << (2 * bits)
    | (((code >>> 8) & 255) >>> shift) << bits | ((code & 255) >>> shift)) >>> 0;
}

function* sortByCode(
  codes: Uint32Array, ids: Uint32Array, count: number,
): Generator<null, Pick<QuadIndex, 'bits' | 'start' | 'codes' | 'ids'>> {
  const bits = count > MANY ? 5 : 4;
  const bins = 1 << (4 * bits);
  const start = new Int32Array(bins + 1);
  for (let n = 0; n < count; n++) start[binOf(codes[n]!, bits) + 1]!++;
  for (let b = 0; b < bins; b++) start[b + 1]! += start[b]!;
  yield null;
  const fill = start.slice();
  const sortedCodes = new Uint32Array(count), sortedIds = new Uint32Array(count);
  for (let n = 0; n < count; n++) {
    const to = fill[binOf(codes[n]!, bits)]!++;
    sortedCodes[to] = codes[n]!;
    sortedIds[to] = ids[n]!;
    if (n % (32 * BATCH) === 0) yield null;
  }
  return { bits, start, codes: sortedCodes, ids: sortedIds };
}

/**
 * Writes the numbers of the indexed quads whose places differ from those given by no more than `tolerance` steps into
 * `out`; returns how many (at most out.length).
 */
export function findQuads(
  { bits, start, codes }: QuadIndex, cx: number, cy: number, dx: number, dy: number, tolerance: number, out: Int32Array,
): number {
  const shift = 8 - bits;
  const a = step(cx), b = step(cy), c = step(dx), d = step(dy);
  const low = (v: number): number => Math.max(0, v - tolerance) >> shift;
  const high = (v: number): number => Math.min(255, v + tolerance) >> shift;
  const a0 = low(a), a1 = high(a), b0 = low(b), b1 = high(b), c0 = low(c), c1 = high(c), d0 = low(d), d1 = high(d);
  let n = 0;
  for (let i = a0; i <= a1; i++) {
    for (let j = b0; j <= b1; j++) {
      for (let k = c0; k <= c1; k++) {
        const bin = ((i << (3 * bits)) | (j << (2 * bits)) | (k << bits)) >>> 0;
        const to = start[bin + d1 + 1]!;
        for (let q = start[bin + d0]!; q < to; q++) {
          const code = codes[q]!;
          if (Math.abs((code >>> 24) - a) > tolerance || Math.abs(((code >>> 16) & 255) - b) > tolerance) continue;
          if (Math.abs(((code >>> 8) & 255) - c) > tolerance || Math.abs((code & 255) - d) > tolerance) continue;
          if (n < out.length) out[n++] = q;
        }
      }
    }
  }
  return n;
}

/** Memory for {@link starsOfQuad}. */
export interface QuadStars {
  /** Stars A, B, C and D. */
  readonly four: Int32Array;
  readonly group: Int32Array;
  readonly chords: Chords;
  readonly quad: Quad;
}

export function emptyQuadStars(): QuadStars {
  return { four: new Int32Array(4), group: new Int32Array(4), chords: emptyChords(4), quad: emptyQuad() };
}

/** Writes the four stars of indexed quad number q, in the order A, B, C, D of its description, into `out.four`. */
export function starsOfQuad({ ids, partners, most, directions }: QuadIndex, q: number, out: QuadStars): void {
  const id = ids[q]!;
  const i = Math.floor(id / TRIPLE_NUMBERS), t = 3 * (id % TRIPLE_NUMBERS);
  const { four, group, chords, quad } = out;
  // The same order as when it was indexed: partners first.
  for (let m = 0; m < 3; m++) group[m] = partners[most * i + TRIPLES[t + m]!]!;
  group[3] = i;
  measureChords(directions, group, 4, chords);
  describeQuad(directions, group, chords, 3, 0, 1, 2, 0, 2, quad);
  four[0] = group[quad.a]!;
  four[1] = group[quad.b]!;
  four[2] = group[quad.c]!;
  four[3] = group[quad.d]!;
}
