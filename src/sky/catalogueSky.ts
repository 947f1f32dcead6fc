import { PolewardError } from '../error.js';
import { type Catalogue, catalogueSigma, properMotionScatter, tychoSigma } from './catalogue.js';
import { CELLS, CELL_REACH, cellAxes, cellOf } from './catalogue/cells.js';
import { MAGNITUDE_ZERO } from './catalogue/format.js';
import {
  NO_STAR, PLACE_BITS, REACH, ROUNDING, SKY_HEADER_BYTES, SKY_MAGIC, SKY_VERSION, SPECIAL_NUMBERS, STEP, TENTH,
} from './catalogue/skyFormat.js';

/**
 * The stars of the whole sky to V 11, and those near the poles to their full depth. A star's number is its place in
 * {@link SkyCatalogue.near}, or comes after all of those.
 */
export interface SkyCatalogue {
  /** The stars near the poles. */
  readonly near: Catalogue;
  /** All numbers are below this; some below it belong to no star. */
  readonly numbers: number;
  /**
   * The stars of some cells (`catalogue/cells.ts`) to a magnitude, brightest first to a hundredth of a magnitude, at their places `years`
   * Julian years after J2000 as far as their motion is known.
   *
   * @param faintest one for all cells, or one for each
   */
  collect(cells: ArrayLike<number>, faintest: number | ArrayLike<number>, years: number): SkyStars;
  /** One-sigma error (radians in each coordinate) of the place of a star of that number and magnitude, that many years after J2000. */
  sigma(number: number, magnitude: number, years: number): number;
}

/** The stars near the poles, and how to open those of the whole sky; without the latter only frames near a pole are recognised. */
export interface StarCatalogue extends Catalogue {
  /** Returns the same object at every call. */
  readonly whole?: (() => SkyCatalogue) | undefined;
}

/** Stars as flat arrays. */
export interface SkyStars {
  readonly count: number;
  readonly numbers: Int32Array;
  /** 3·count: ICRS directions, length 1. */
  readonly directions: Float64Array;
  /** As in {@link Catalogue}. */
  readonly magnitudes: Float32Array;
}

/** A star whose error does not follow from its magnitude, or whose motion is known. */
interface Special {
  readonly number: number;
  /** At J2000, radians. */
  readonly sigma: number;
  /** Radians a year; zero where it is not known. */
  readonly motion: readonly [number, number, number];
  /** Radians a year; negative = as for all stars of the magnitude. */
  readonly motionSigma: number;
}

/**
 * Opens the embedded catalogue of the whole sky (`catalogue/sky.bin`, made by `.config/buildCatalogue.ts`). Stars are unpacked when they
 * are needed.
 *
 * @param bytes the file as it is, at any alignment
 * @param near the stars of `stars.bin`, of the same build
 * @throws PolewardError `catalogue-broken` when it is not such a file or is damaged
 */
export function openSkyCatalogue(bytes: Uint8Array, near: Catalogue): SkyCatalogue {
  const file = parse(bytes, near.count);
  const special = new Uint16Array(near.count + file.words.length);
  file.specials.forEach((each, i) => { special[each.number] = i + 1; });
  let nearCells: NearCells | null = null;
  const collect = (cells: ArrayLike<number>, faintest: number | ArrayLike<number>, years: number): SkyStars => {
    // Sorting them takes longer than collecting a few cells far from the poles.
    if (!nearCells && reachesPoles(cells, near)) nearCells = sortIntoCells(near);
    const room = roomFor(cells, file, nearCells);
    const found = { count: 0, numbers: new Int32Array(room), directions: new Float64Array(3 * room), magnitudes: new Float32Array(room) };
    for (let i = 0; i < cells.length; i++) {
      const limit = typeof faintest === 'number' ? faintest : faintest[i]!;
      if (nearCells) takeNear(near, nearCells, cells[i]!, limit, found);
      takeWords(file, near.count, cells[i]!, limit, found);
    }
    for (let n = 0; n < found.count; n++) {
      const s = special[found.numbers[n]!]!;
      if (s > 0) move(found.directions, 3 * n, file.specials[s - 1]!.motion, years);
    }
    return brightestFirst(found);
  };
  return {
    near, numbers: special.length, collect,
    sigma: (number, magnitude, years) => {
      const s = special[number]!;
      const known = s > 0 ? file.specials[s - 1]! : null;
      if (!known) {
        if (number < near.count) return catalogueSigma(near, number, years);
        return Math.hypot(tychoSigma(magnitude), ROUNDING, properMotionScatter(magnitude) * years);
      }
      return Math.hypot(known.sigma, (known.motionSigma < 0 ? properMotionScatter(magnitude) : known.motionSigma) * years);
    },
  };
}

interface SkyFile {
  readonly words: Uint32Array;
  /** Words of cell c are words[start[c]] … words[start[c + 1] - 1]. */
  readonly start: Int32Array;
  /** First magnitude of each cell, tenths. */
  readonly firsts: Uint8Array;
  readonly specials: readonly Special[];
}

function parse(bytes: Uint8Array, near: number): SkyFile {
  if (bytes.byteLength < SKY_HEADER_BYTES || !startsWithMagic(bytes)) throw broken('does not begin as one');
  const { buffer, byteOffset } = bytes.byteOffset % 8 === 0 ? bytes : new Uint8Array(bytes);
  const [version, cells, words = 0, specials = 0] = new Uint32Array(buffer, byteOffset + 8, 4);
  if (version !== SKY_VERSION || cells !== CELLS) throw broken('is of another version');
  const numbers = SPECIAL_NUMBERS * specials;
  if (bytes.byteLength !== SKY_HEADER_BYTES + 8 * numbers + 4 * words + 2 * CELLS) throw broken('has the wrong length');
  const from = byteOffset + SKY_HEADER_BYTES + 8 * numbers;
  const counts = new Uint8Array(buffer, from + 4 * words, CELLS);
  const start = new Int32Array(CELLS + 1);
  for (let c = 0; c < CELLS; c++) start[c + 1] = start[c]! + counts[c]!;
  const table = new Float64Array(buffer, byteOffset + SKY_HEADER_BYTES, numbers);
  const list = Array.from({ length: specials }, (_, i): Special => {
    const [number, sigma, x, y, z, motionSigma] = table.subarray(SPECIAL_NUMBERS * i);
    return { number: number!, sigma: sigma!, motion: [x!, y!, z!], motionSigma: motionSigma! };
  });
  if (start[CELLS] !== words || !list.every(({ number, sigma }) => number >= 0 && number < near + words && sigma > 0)) {
    throw broken('holds impossible values');
  }
  const firsts = new Uint8Array(buffer, from + 4 * words + CELLS, CELLS);
  return { words: new Uint32Array(buffer, from, words), start, firsts, specials: list };
}

/** The stars near the poles by cell: those of cell c are members[start[c]] … members[start[c + 1] - 1], brightest first. */
interface NearCells {
  readonly start: Int32Array;
  readonly members: Int32Array;
}

function sortIntoCells({ directions, count }: Catalogue): NearCells {
  const cells = new Int32Array(count);
  const start = new Int32Array(CELLS + 1);
  for (let i = 0; i < count; i++) {
    const cell = cellOf(directions[3 * i]!, directions[3 * i + 1]!, directions[3 * i + 2]!);
    cells[i] = cell;
    start[cell + 1]!++;
  }
  for (let c = 0; c < CELLS; c++) start[c + 1]! += start[c]!;
  const fill = start.slice();
  const members = new Int32Array(count);
  for (let i = 0; i < count; i++) members[fill[cells[i]!]!++] = i;
  return { start, members };
}

type Growing = { -readonly [K in keyof SkyStars]: SkyStars[K] };

/** Whether any of the cells may hold one of the stars near the poles. */
function reachesPoles(cells: ArrayLike<number>, { directions, count }: Catalogue): boolean {
  let lowest = 1;
  for (let i = 0; i < count; i++) lowest = Math.min(lowest, Math.abs(directions[3 * i + 2]!));
  for (let i = 0; i < cells.length; i++) {
    if (Math.asin(Math.abs(cellAxes(cells[i]!).middle[2])) + CELL_REACH > Math.asin(lowest)) return true;
  }
  return false;
}

function roomFor(cells: ArrayLike<number>, file: SkyFile, near: NearCells | null): number {
  let room = 0;
  for (let i = 0; i < cells.length; i++) {
    const c = cells[i]!;
    room += file.start[c + 1]! - file.start[c]! + (near ? near.start[c + 1]! - near.start[c]! : 0);
  }
  return room;
}

function takeNear(near: Catalogue, cells: NearCells, cell: number, faintest: number, found: Growing): void {
  for (let m = cells.start[cell]!; m < cells.start[cell + 1]!; m++) {
    const i = cells.members[m]!;
    const magnitude = near.magnitudes[i]!;
    if (magnitude > faintest) return;
    const n = found.count++;
    found.numbers[n] = i;
    found.magnitudes[n] = magnitude;
    found.directions[3 * n] = near.directions[3 * i]!;
    found.directions[3 * n + 1] = near.directions[3 * i + 1]!;
    found.directions[3 * n + 2] = near.directions[3 * i + 2]!;
  }
}

const PLACES = 1 << PLACE_BITS;

function takeWords(file: SkyFile, firstNumber: number, cell: number, faintest: number, found: Growing): void {
  const from = file.start[cell]!, to = file.start[cell + 1]!;
  if (from === to) return;
  const { middle: [mx, my, mz], east: [ex, ey], north: [nx, ny, nz] } = cellAxes(cell);
  let magnitude = file.firsts[cell]!;
  for (let w = from; w < to; w++) {
    const word = file.words[w]!;
    const fainter = word >>> (2 * PLACE_BITS);
    magnitude += fainter;
    if (MAGNITUDE_ZERO + TENTH * magnitude > faintest) return;
    if (fainter === NO_STAR) continue;
    const u = (((word >>> PLACE_BITS) & (PLACES - 1)) + 0.5) * STEP - REACH;
    const v = ((word & (PLACES - 1)) + 0.5) * STEP - REACH;
    const shrink = 1 / Math.sqrt(1 + u * u + v * v);
    const n = found.count++;
    found.numbers[n] = firstNumber + w;
    found.magnitudes[n] = MAGNITUDE_ZERO + TENTH * magnitude;
    found.directions[3 * n] = shrink * (mx + u * ex + v * nx);
    found.directions[3 * n + 1] = shrink * (my + u * ey + v * ny);
    found.directions[3 * n + 2] = shrink * (mz + v * nz);
  }
}

/** Moves a direction and keeps its length. */
function move(d: Float64Array, at: number, motion: readonly [number, number, number], years: number): void {
  const x = d[at]! + motion[0] * years, y = d[at + 1]! + motion[1] * years, z = d[at + 2]! + motion[2] * years;
  const length = Math.hypot(x, y, z);
  d[at] = x / length;
  d[at + 1] = y / length;
  d[at + 2] = z / length;
}

const STEPS_PER_MAGNITUDE = 100;

/** The same stars sorted by magnitude (counting sort). */
function brightestFirst({ count, numbers, directions, magnitudes }: SkyStars): SkyStars {
  const step = (n: number): number => Math.max(0, Math.round((magnitudes[n]! - MAGNITUDE_ZERO) * STEPS_PER_MAGNITUDE));
  let most = 0;
  for (let n = 0; n < count; n++) most = Math.max(most, step(n));
  const fill = new Int32Array(most + 2);
  for (let n = 0; n < count; n++) fill[step(n) + 1]!++;
  for (let s = 0; s <= most; s++) fill[s + 1]! += fill[s]!;
  const out = { count, numbers: new Int32Array(count), directions: new Float64Array(3 * count), magnitudes: new Float32Array(count) };
  for (let n = 0; n < count; n++) {
    const to = fill[step(n)]!++;
    out.numbers[to] = numbers[n]!;
    out.magnitudes[to] = magnitudes[n]!;
    out.directions[3 * to] = directions[3 * n]!;
    out.directions[3 * to + 1] = directions[3 * n + 1]!;
    out.directions[3 * to + 2] = directions[3 * n + 2]!;
  }
  return out;
}

function startsWithMagic(bytes: Uint8Array): boolean {
  for (let i = 0; i < SKY_MAGIC.length; i++) if (bytes[i] !== SKY_MAGIC.charCodeAt(i)) return false;
  return true;
}

function broken(how: string): PolewardError {
  return new PolewardError('catalogue-broken', `The catalogue of the whole sky ${how}. Install the program again.`);
}
