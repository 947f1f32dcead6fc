/**
 * Makes `stars.bin` and `sky.bin` of src/sky/catalogue: `npm run catalogue [-- FOLDER]`.
 *
 * Reads the Tycho-2 index of the Debian package `astrometry-data-tycho2-07-littleendian`, and the stars to V 8 of npm
 * `d3-celestial`: from FOLDER (the unpacked package), or fetched with `npm pack` into a temporary folder.
 * Prints what it took, added and doubted. Layouts: `format.ts`, `skyFormat.ts`. Licences: `LICENSES.md`.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ARCSECOND, DEGREE } from '../src/geometry/angle.js';
import { type Vector, angleBetween, dot, fromSpherical, scale, subtract, unit } from '../src/geometry/vector.js';
import { properMotionScatter, tychoSigma } from '../src/sky/catalogue.js';
import {
  BYTES_PER_STAR, COARSE, HEADER_BYTES, MAGIC, MAGNITUDE_ZERO, SOUTH, UNIT, VERSION,
} from '../src/sky/catalogue/format.js';
import { CELLS, cellAxes, cellOf } from '../src/sky/catalogue/cells.js';
import {
  NO_STAR, PLACE_BITS, REACH, ROUNDING, SKY_HEADER_BYTES, SKY_MAGIC, SKY_VERSION, SPECIAL_NUMBERS, STEP, TENTH,
} from '../src/sky/catalogue/skyFormat.js';

const TYCHO_INDEX = '/usr/share/astrometry/index-tycho2-07.littleendian.fits';
const BRIGHT_PACKAGE = 'd3-celestial@0.7.35';

/** All stars this near a pole are kept. */
const CAP = 12 * DEGREE;
/** Stars to {@link RING_MAGNITUDE} are kept this near a pole. VT 9.2 holds what has V 9 or brighter, red stars aside. */
const RING = 45 * DEGREE;
const RING_MAGNITUDE = 9.2;
/** Stars to this magnitude are kept everywhere. */
const SKY_MAGNITUDE = 11;
/** A star of both lists that differs no more than this is the same one. */
const SAME = 5 * ARCSECOND;
/** Tycho-2 shows a companion, not the star itself, when it is fainter than the listed V by more than this. */
const SAME_MAGNITUDES = 2;
/** Beyond this the lists disagree by more than the rounding of the one and the errors of the other. */
const DOUBTFUL = 0.45 * ARCSECOND;
/**
 * The index has the brightest stars where they were in 1991 (Capella 3.8″, α Centauri 32″ from J2000: their proper
 * motions times 8.75 years), those to V 3 here; nearly the same magnitude and nothing else as bright within
 * {@link MOVED} tell them. Fainter stars of both lists that disagree are close doubles, 0.4 to 0.9 fainter in VT,
 * as it lists the primary and the other list the pair.
 */
const BRIGHTEST = 3;
const MOVED = 60 * ARCSECOND;
const MOVED_MAGNITUDES = 0.35;
/** From the epoch of those places, 1991.25, to that of the other list. */
const YEARS_TO_2000 = 8.75;

interface Star {
  readonly direction: Vector;
  readonly magnitude: number;
  readonly coarse: boolean;
  /** Radians, each coordinate, at J2000. */
  readonly sigma: number;
  /** Radians a year, where it is known. */
  readonly motion?: Vector;
}

interface BrightStar {
  readonly hip: number;
  readonly direction: Vector;
  readonly magnitude: number;
}

function main(brightFolder: string | undefined): void {
  const tycho = readTycho(readFileSync(TYCHO_INDEX));
  const bright = readBright(brightFolder);
  console.log(`Tycho-2: ${tycho.length} stars within reach; list of bright stars: ${bright.length}`);
  const all = merge(tycho, bright);
  const stars = all.filter(isKept).sort((a, b) => thousandths(a) - thousandths(b));
  write('stars.bin', stars, encode(stars));
  const others = all.filter((star) => !isKept(star) && star.magnitude <= SKY_MAGNITUDE);
  write('sky.bin', others, encodeSky(stars, others));
}

function write(file: string, stars: readonly Star[], bytes: Uint8Array): void {
  writeFileSync(new URL(`../src/sky/catalogue/${file}`, import.meta.url), bytes);
  console.log(`${file}: ${stars.length} stars, ${bytes.length} bytes`);
}

function isKept(star: Star): boolean {
  const z = Math.abs(star.direction[2]);
  return z >= Math.cos(CAP) || (z >= Math.cos(RING) && star.magnitude <= RING_MAGNITUDE);
}

/** Tycho-2 stars within reach of the poles, with room for the matching at the rim, and the brighter ones everywhere. */
function readTycho(file: Buffer): Star[] {
  const tables = fitsTables(file);
  const find = (name: string): Buffer => {
    const table = tables.get(name);
    if (table === undefined) throw new Error(`${TYCHO_INDEX} has no table ${name}`);
    return table;
  };
  // Three little-endian unsigned integers a star; the range table (doubles) has the lower bounds first, the scale last.
  const data = find('kdtree_data_stars');
  const range = find('kdtree_range_stars');
  const magnitudes = find('MAG_VT');
  const scale = range.readDoubleLE(48);
  const coordinate = (star: number, axis: number): number =>
    range.readDoubleLE(8 * axis) + data.readUInt32LE(12 * star + 4 * axis) / scale;
  const rim = Math.cos(RING + MOVED);
  const stars: Star[] = [];
  for (let i = 0; 12 * i < data.length; i++) {
    const magnitude = magnitudes.readFloatBE(4 * i);
    if (Math.abs(coordinate(i, 2)) < rim && magnitude > SKY_MAGNITUDE) continue;
    stars.push({
      direction: [coordinate(i, 0), coordinate(i, 1), coordinate(i, 2)],
      magnitude,
      coarse: false,
      sigma: tychoSigma(magnitude),
    });
  }
  return stars;
}

/** One-sigma error in declination of a position rounded to 0.0001° (in right ascension it is no larger). */
const ROUNDED = (0.36 / Math.sqrt(12)) * ARCSECOND;

function readBright(folder: string | undefined): BrightStar[] {
  const temporary = folder === undefined ? mkdtempSync(join(tmpdir(), 'bright-stars-')) : null;
  try {
    if (temporary !== null) {
      execFileSync('npm', ['pack', '--silent', BRIGHT_PACKAGE], { cwd: temporary });
      execFileSync('sh', ['-c', 'tar -xzf *.tgz'], { cwd: temporary });
    }
    const path = join(temporary === null ? folder ?? '' : join(temporary, 'package'), 'data/stars.8.json');
    const list = JSON.parse(readFileSync(path, 'utf8')) as {
      features: { id: number; properties: { mag: number }; geometry: { coordinates: [number, number] } }[];
    };
    return list.features.map(({ id, properties, geometry }) => ({
      hip: id,
      direction: fromSpherical(geometry.coordinates[0] * DEGREE, geometry.coordinates[1] * DEGREE),
      magnitude: Number(properties.mag),
    })).sort((a, b) => a.magnitude - b.magnitude);
  } finally {
    if (temporary !== null) rmSync(temporary, { recursive: true });
  }
}

/** Tycho-2's stars, those in doubt marked by a larger sigma, and the bright stars it lacks or has in an old place. */
function merge(tycho: readonly Star[], bright: readonly BrightStar[]): Star[] {
  const near = neighbourhood(tycho, at(bright, bright.length - 1).magnitude + SAME_MAGNITUDES);
  const replaced = new Set<number>();
  const doubted = new Map<number, number>();
  const added: (BrightStar & { readonly motion?: Vector })[] = [];
  for (const star of bright) {
    const apart = (i: number): number => angleBetween(star.direction, at(tycho, i).direction);
    const fainter = (i: number): number => at(tycho, i).magnitude - star.magnitude;
    const partner = near(star.direction, SAME).find((i) => fainter(i) < SAME_MAGNITUDES);
    if (partner !== undefined && apart(partner) <= DOUBTFUL) continue;

    const before = star.magnitude > BRIGHTEST ? undefined
      : near(star.direction, MOVED).find((i) => Math.abs(fainter(i)) < MOVED_MAGNITUDES);
    if (before !== undefined) {
      replaced.add(before);
      added.push({ ...star, motion: scale(subtract(star.direction, unit(at(tycho, before).direction)), 1 / YEARS_TO_2000) });
      console.log(`moved by ${arcsec(apart(before))}: ${name(star)}`);
    } else if (partner !== undefined) {
      doubted.set(partner, Math.max(apart(partner), doubted.get(partner) ?? 0));
      console.log(`in doubt by ${arcsec(apart(partner))}: ${name(star)}, VT ${at(tycho, partner).magnitude.toFixed(2)}`);
    } else {
      added.push(star);
      console.log(`added: ${name(star)}`);
    }
  }
  console.log(`${added.length} from the list of bright stars, of which ${replaced.size} moved; ${doubted.size} in doubt`);
  return [
    ...tycho.map((star, i) => ({ ...star, sigma: Math.max(star.sigma, (doubted.get(i) ?? 0) / Math.SQRT2) }))
      .filter((_, i) => !replaced.has(i)),
    ...added.map(({ direction, magnitude, motion }) => ({
      direction, magnitude, coarse: true, sigma: ROUNDED, ...(motion ? { motion } : {}),
    })),
  ];
}

function arcsec(angle: number): string {
  return `${(angle / ARCSECOND).toFixed(2)}″`;
}

function name({ hip, magnitude, direction }: BrightStar): string {
  return `HIP ${hip}, V ${magnitude.toFixed(2)}, declination ${(Math.asin(direction[2]) / DEGREE).toFixed(2)}°`;
}

/** Looks up the stars, not fainter than `faintest`, within a radius (up to {@link MOVED}) of a direction, nearest first. */
function neighbourhood(stars: readonly Star[], faintest: number): (direction: Vector, radius: number) => number[] {
  const cell = MOVED;
  const key = (x: number, y: number, z: number): string => `${x},${y},${z}`;
  const index = (value: number): number => Math.floor(value / cell);
  const cells = new Map<string, number[]>();
  stars.forEach(({ direction: [x, y, z], magnitude }, i) => {
    if (magnitude > faintest) return;
    const k = key(index(x), index(y), index(z));
    const list = cells.get(k);
    if (list === undefined) cells.set(k, [i]);
    else list.push(i);
  });
  return (direction, radius) => {
    const found: { i: number; apart: number }[] = [];
    for (let dx = -1; dx <= 1; dx++) for (let dy = -1; dy <= 1; dy++) for (let dz = -1; dz <= 1; dz++) {
      const k = key(index(direction[0]) + dx, index(direction[1]) + dy, index(direction[2]) + dz);
      for (const i of cells.get(k) ?? []) {
        const apart = angleBetween(direction, at(stars, i).direction);
        if (apart <= radius) found.push({ i, apart });
      }
    }
    return found.sort((a, b) => a.apart - b.apart).map(({ i }) => i);
  };
}

function encode(stars: readonly Star[]): Uint8Array {
  const count = stars.length;
  const bytes = new Uint8Array(HEADER_BYTES + BYTES_PER_STAR * count);
  const view = new DataView(bytes.buffer);
  bytes.set(new TextEncoder().encode(MAGIC));
  view.setUint32(8, VERSION, true);
  view.setUint32(12, count, true);
  stars.forEach((star, i) => {
    const [x, y, z] = star.direction;
    const length = Math.hypot(x, y, z);
    const at = HEADER_BYTES;
    view.setInt32(at + 4 * i, Math.round((x / length) * UNIT), true);
    view.setInt32(at + 4 * (count + i), Math.round((y / length) * UNIT), true);
    view.setUint16(at + 8 * count + 2 * i, thousandths(star), true);
    view.setUint8(at + 10 * count + i, (z < 0 ? SOUTH : 0) | (star.coarse ? COARSE : 0));
    view.setUint8(at + 11 * count + i, Math.min(255, Math.round((star.sigma / ARCSECOND) * 100)));
  });
  return bytes;
}

/** @param kept the stars of `stars.bin`, in its order: theirs are the first numbers */
function encodeSky(kept: readonly Star[], stars: readonly Star[]): Uint8Array {
  const cells = Array.from({ length: CELLS }, (): Star[] => []);
  for (const star of stars) at(cells, cellOf(...unit(star.direction))).push(star);
  const words: number[] = [];
  const counts = new Uint8Array(CELLS), firsts = new Uint8Array(CELLS);
  const specials: number[] = kept.flatMap((star, i) => (star.motion ? special(star, i, star.sigma) : []));
  cells.forEach((members, cell) => {
    members.sort((a, b) => tenths(a) - tenths(b));
    const before = words.length;
    let magnitude = members.length === 0 ? 0 : tenths(at(members, 0));
    firsts[cell] = magnitude;
    for (const star of members) {
      for (; tenths(star) - magnitude >= NO_STAR; magnitude += NO_STAR) words.push((NO_STAR << (2 * PLACE_BITS)) >>> 0);
      if (star.motion || star.coarse || star.sigma !== tychoSigma(star.magnitude)) {
        specials.push(...special(star, kept.length + words.length, Math.hypot(star.sigma, ROUNDING)));
      }
      words.push(((tenths(star) - magnitude) * 2 ** (2 * PLACE_BITS) + place(star, cell)) >>> 0);
      magnitude = tenths(star);
    }
    if (words.length - before > 255) throw new Error(`cell ${cell} has too many stars`);
    counts[cell] = words.length - before;
  });
  const bytes = new Uint8Array(SKY_HEADER_BYTES + 8 * specials.length + 4 * words.length + 2 * CELLS);
  const view = new DataView(bytes.buffer);
  bytes.set(new TextEncoder().encode(SKY_MAGIC));
  [SKY_VERSION, CELLS, words.length, specials.length / SPECIAL_NUMBERS].forEach((n, i) => { view.setUint32(8 + 4 * i, n, true); });
  specials.forEach((n, i) => { view.setFloat64(SKY_HEADER_BYTES + 8 * i, n, true); });
  const from = SKY_HEADER_BYTES + 8 * specials.length;
  words.forEach((word, i) => { view.setUint32(from + 4 * i, word, true); });
  bytes.set(counts, from + 4 * words.length);
  bytes.set(firsts, from + 4 * words.length + CELLS);
  console.log(`${specials.length / SPECIAL_NUMBERS} special stars, at most ${Math.max(...counts)} words a cell`);
  return bytes;
}

function special(star: Star, number: number, sigma: number): number[] {
  const known = star.motion && Math.hypot(star.sigma, tychoSigma(star.magnitude)) / YEARS_TO_2000;
  const motionSigma = known ?? (star.coarse ? unknownMotion(star.magnitude) : -1);
  return [number, sigma, ...(star.motion ?? [0, 0, 0]), motionSigma, star.coarse ? 1 : 0];
}

/**
 * Likely motion, radians a year, of a bright star whose motion nothing here tells (Sirius, Canopus): stars of one kind are
 * the nearer and the faster the brighter they look, by a factor of 10 in 5 magnitudes. Fainter than V 6 as all stars.
 */
function unknownMotion(magnitude: number): number {
  return properMotionScatter(magnitude) * 10 ** Math.max(0, (6 - magnitude) / 5);
}

/** Place of a star on the tangent plane of its cell: the lower 28 bits of its word. */
function place(star: Star, cell: number): number {
  const { middle, east, north } = cellAxes(cell);
  const depth = dot(star.direction, middle);
  const [u, v] = [east, north].map((axis) => Math.floor((dot(star.direction, axis) / depth + REACH) / STEP));
  if (!(u! >= 0 && v! >= 0 && u! < 1 << PLACE_BITS && v! < 1 << PLACE_BITS)) throw new Error(`a star is beyond its cell ${cell}`);
  return u! * (1 << PLACE_BITS) + v!;
}

function tenths(star: Star): number {
  return Math.round((star.magnitude - MAGNITUDE_ZERO) / TENTH);
}

function thousandths(star: Star): number {
  return Math.round((star.magnitude - MAGNITUDE_ZERO) * 1000);
}

/** Data of each one-column table of a FITS file, by the name of the column. */
function fitsTables(file: Buffer): Map<string, Buffer> {
  const tables = new Map<string, Buffer>();
  let offset = 0;
  while (offset < file.length) {
    const header = new Map<string, string>();
    for (let ended = false; !ended; offset += 2880) {
      for (let card = 0; card < 36 && !ended; card++) {
        const text = file.toString('latin1', offset + 80 * card, offset + 80 * card + 80);
        ended = text.startsWith('END     ');
        const value = /^=\s*(?:'([^']*)'|([^/\s]+))/.exec(text.slice(8));
        if (value !== null) header.set(text.slice(0, 8).trim(), (value[1] ?? value[2] ?? '').trim());
      }
    }
    const axes = Number(header.get('NAXIS') ?? 0);
    const size = axes === 0 ? 0 : Number(header.get('NAXIS1')) * Number(header.get('NAXIS2'));
    tables.set(header.get('TTYPE1') ?? '', file.subarray(offset, offset + size));
    offset += Math.ceil(size / 2880) * 2880;
  }
  return tables;
}

function at<T>(list: readonly T[], index: number): T {
  const item = list[index];
  if (item === undefined) throw new RangeError(`no item ${index}`);
  return item;
}

main(process.argv[2]);
