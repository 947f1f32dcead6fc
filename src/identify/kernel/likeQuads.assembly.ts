// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into likeQuadsCode.ts.
// The same as `plainLikeQuads` does, number for number. All addresses are bytes in the module's own memory.

/** Partners at most, and themselves: rows and columns of the table of chords; even, so that two are taken at once. */
const MOST: i32 = 14;
/** Bytes of a hit: entry, A, B, C, D, nothing (32 bits each), side (64 bits). */
const HIT: usize = 32;
/** Bytes of a slot of the frame: places of C and D, by how much they may differ, side, entry (32 bits each), nothing. */
const SLOT: usize = 32;
/** Bytes of a quad that waits: its places as in a slot, its stars (32 bits each), side (64 bits), bin (32 bits), nothing. */
const WAITING: usize = 48;
const INSIDE: usize = 24;

/** Directions: all x, all y, all z. */
let xs: usize = 0;
let ys: usize = 0;
let zs: usize = 0;
let rank: usize = 0;
let partners: i32 = 0;
let shortest: f64 = 0;
let longest: f64 = 0;

let slots: usize = 0;
let bins: i32 = 0;
let starts: usize = 0;
let fineBins: i32 = 0;
let reached: usize = 0;
let reach: f64 = 0;

/** Room for a star's partners, nearest first, and itself; for the squares of their distances; for those of all their chords. */
let group: usize = 0;
let distances: usize = 0;
let chords: usize = 0;
/** Quads that are described and not yet looked up: one after the other, so that a processor fetches for many at a time. */
let waiting: usize = 0;
let waitingEnd: usize = 0;
/** Stars inside the circle over two ends: place along and across (64 bits each), number (32 bits), nothing. */
let inside: usize = 0;
let hits: usize = 0;
let most: i32 = 0;
let count: i32 = 0;

/** The stars of the sky; sides of quads as squares of chords. */
export function takeStars(
  at: usize, stars: i32, rankAt: usize, partnersOfEach: i32, shortestSquare: f64, longestSquare: f64,
): void {
  xs = at;
  ys = xs + (<usize>stars << 3);
  zs = ys + (<usize>stars << 3);
  rank = rankAt;
  partners = partnersOfEach;
  shortest = shortestSquare;
  longest = longestSquare;
}

/** The quads of the frame, and by how much sides may differ. `fine`: 0 where there are no finer bins. */
export function takeFrame(slotsAt: usize, binsAlong: i32, startsAt: usize, fine: i32, reachedAt: usize, sides: f64): void {
  slots = slotsAt;
  bins = binsAlong;
  starts = startsAt;
  fineBins = fine;
  reached = reachedAt;
  reach = sides;
}

/** Where it works, and where hits go, `atMost` of them for one star. */
export function takeRoom(room: usize, hitsAt: usize, atMost: i32): void {
  group = room;
  distances = group + 64;
  chords = distances + 128;
  inside = chords + <usize>(MOST * MOST * 8) + 8;
  waiting = inside + <usize>MOST * INSIDE + 8;
  hits = hitsAt;
  most = atMost;
}

/**
 * The stars from which those that are asked for next take partners: `ranges` holds pairs of the first of a run and the one after the last
 * (32 bits each). They are gathered at `to`, by their distances from the first of them, in 32 bits: four are compared at once.
 */
export function gather(ranges: usize, end: usize, to: usize): void {
  let count: i32 = 0;
  for (let r = ranges; r < end; r += 8) count += load<i32>(r + 4) - load<i32>(r);
  const bytes = <usize>((count + 3) & ~3) << 2;
  gathered = to;
  gatheredRow = bytes;
  if (count === 0) return;
  const first = load<i32>(ranges);
  x0 = xOf(first);
  y0 = yOf(first);
  z0 = zOf(first);
  let at = to;
  for (let r = ranges; r < end; r += 8) {
    for (let j = load<i32>(r), last = load<i32>(r + 4); j < last; j++) {
      put(at, bytes, <f32>(xOf(j) - x0), <f32>(yOf(j) - y0), <f32>(zOf(j) - z0), load<i32>(rank + (<usize>j << 2)), j);
      at += 4;
    }
  }
  // Past the last one stands what is never brighter.
  for (; at < to + bytes; at += 4) put(at, bytes, 0, 0, 0, i32.MAX_VALUE, 0);
}

let gathered: usize = 0;
/** Bytes from an x to its y, its z, its rank, its number. */
let gatheredRow: usize = 0;
let x0: f64 = 0;
let y0: f64 = 0;
let z0: f64 = 0;

function put(at: usize, row: usize, x: f32, y: f32, z: f32, itsRank: i32, star: i32): void {
  store<f32>(at, x);
  store<f32>(at + row, y);
  store<f32>(at + 2 * row, z);
  store<i32>(at + 3 * row, itsRank);
  store<i32>(at + 4 * row, star);
}

/** Writes the hits of a star's quads. Returns how many. */
export function like(star: i32): i32 {
  count = 0;
  brighterPartners(star);
  if (found < 3) return 0;
  store<i32>(group + (<usize>found << 2), star);
  measureChords(found + 1);
  waitingEnd = waiting;
  describeQuads();
  for (let quad = waiting; quad < waitingEnd; quad += WAITING) lookUp(quad);
  return count;
}

function xOf(star: i32): f64 {
  return load<f64>(xs + (<usize>star << 3));
}

function yOf(star: i32): f64 {
  return load<f64>(ys + (<usize>star << 3));
}

function zOf(star: i32): f64 {
  return load<f64>(zs + (<usize>star << 3));
}

function chord(i: i32, j: i32): f64 {
  return load<f64>(chords + (<usize>(i * MOST + j) << 3));
}

function member(i: i32): i32 {
  return load<i32>(group + (<usize>i << 2));
}

let found: i32 = 0;
let farthest: f64 = 0;

/** More than what 32 bits get wrong. */
const MARGIN: f64 = 1.0001;

function brighterPartners(star: i32): void {
  const sx = xOf(star), sy = yOf(star), sz = zOf(star);
  const bright = i32x4.splat(load<i32>(rank + (<usize>star << 2)));
  const x = f32x4.splat(<f32>(sx - x0)), y = f32x4.splat(<f32>(sy - y0)), z = f32x4.splat(<f32>(sz - z0));
  const row = gatheredRow, end = gathered + row;
  found = 0;
  farthest = longest;
  let within = f32x4.splat(<f32>(farthest * MARGIN));
  for (let at = gathered; at < end; at += 16) {
    const dx = f32x4.sub(v128.load(at), x), dy = f32x4.sub(v128.load(at + row), y), dz = f32x4.sub(v128.load(at + 2 * row), z);
    const d2 = f32x4.add(f32x4.add(f32x4.mul(dx, dx), f32x4.mul(dy, dy)), f32x4.mul(dz, dz));
    let near = i32x4.bitmask(v128.and(f32x4.lt(d2, within), i32x4.lt_s(v128.load(at + 3 * row), bright)));
    if (near === 0) continue;
    for (; near !== 0; near &= near - 1) {
      const other = load<i32>(at + 4 * row + (<usize>ctz(near) << 2));
      const ex = xOf(other) - sx, ey = yOf(other) - sy, ez = zOf(other) - sz;
      insert(other, ex * ex + ey * ey + ez * ez);
    }
    within = f32x4.splat(<f32>(farthest * MARGIN));
  }
}

/** Puts a star among the nearest ones. */
function insert(star: i32, d2: f64): void {
  if (d2 >= farthest) return;
  let p = found < partners ? found++ : partners - 1;
  while (p > 0) {
    const before = load<f64>(distances + (<usize>(p - 1) << 3));
    if (before <= d2) break;
    store<f64>(distances + (<usize>p << 3), before);
    store<i32>(group + (<usize>p << 2), member(p - 1));
    p--;
  }
  store<f64>(distances + (<usize>p << 3), d2);
  store<i32>(group + (<usize>p << 2), star);
  if (found === partners) farthest = load<f64>(distances + (<usize>(partners - 1) << 3));
}

function measureChords(used: i32): void {
  for (let i = 0; i < used; i++) {
    store<f64>(chords + (<usize>(i * MOST + i) << 3), 0);
    const a = member(i);
    const x = xOf(a), y = yOf(a), z = zOf(a);
    for (let j = 0; j < i; j++) {
      const b = member(j);
      const dx = xOf(b) - x, dy = yOf(b) - y, dz = zOf(b) - z;
      const square = dx * dx + dy * dy + dz * dz;
      store<f64>(chords + (<usize>(i * MOST + j) << 3), square);
      store<f64>(chords + (<usize>(j * MOST + i) << 3), square);
    }
  }
}

/** Describes the quads with the star: ends A and B first, then the stars inside the circle over them. */
function describeQuads(): void {
  const last = found;
  const room = inside;
  for (let b = 1; b <= last; b++) {
    for (let a = 0; a < b; a++) {
      const square = chord(b, a);
      if (square < shortest || square > longest) continue;
      const withStar = b < last;
      let within = insideCircle(a, b, square) & ~((1 << a) | (1 << b));
      if (withStar && (within >> last & 1) === 0) continue;
      within &= (1 << last) - 1;
      // Two stars, or the star and another.
      if (within === 0 || (!withStar && (within & (within - 1)) === 0)) continue;
      setEnds(member(a), member(b), square);
      let end = room;
      if (withStar) end = takeInside(last, a, b, end);
      for (; within !== 0; within &= within - 1) end = takeInside(ctz(within), a, b, end);
      const length = Math.sqrt(square);
      const until = withStar ? room + INSIDE : end;
      for (let i = room; i < until; i += INSIDE) {
        for (let j = i + INSIDE; j < end; j += INSIDE) wait(member(a), member(b), i, j, length);
      }
    }
  }
}

/** A bit for each star of the group inside the circle over two ends; theirs are set, too. */
function insideCircle(a: i32, b: i32, square: f64): i32 {
  const rowA = chords + (<usize>(a * MOST) << 3), rowB = chords + (<usize>(b * MOST) << 3);
  const most2 = f64x2.splat(square);
  let bits: i32 = 0;
  for (let m = 0; m <= found; m += 2) {
    const at = <usize>m << 3;
    bits |= i64x2.bitmask(f64x2.le(f64x2.add(v128.load(rowA + at), v128.load(rowB + at)), most2)) << m;
  }
  return bits & ((2 << found) - 1);
}

let along: f64 = 0;
let across: f64 = 0;
let nx: f64 = 0;
let ny: f64 = 0;
let nz: f64 = 0;

function setEnds(a: i32, b: i32, square: f64): void {
  const ax = xOf(a), ay = yOf(a), az = zOf(a);
  const ex = xOf(b) - ax, ey = yOf(b) - ay, ez = zOf(b) - az;
  along = (4 - square) / square;
  across = (4 * Math.sqrt(4 - square)) / square;
  nx = ay * ez - az * ey;
  ny = az * ex - ax * ez;
  nz = ax * ey - ay * ex;
}

/** Notes the place of a star, given by its place in the group. Returns where the next one goes. */
function takeInside(at: i32, a: i32, b: i32, to: usize): usize {
  const toA = chord(at, a), toB = chord(at, b);
  const over = 1 / (4 - toA - toB);
  const star = member(at);
  store<f64>(to, along * (toA - toB) * over);
  store<f64>(to + 8, across * (xOf(star) * nx + yOf(star) * ny + zOf(star) * nz) * over);
  store<i32>(to + 16, star);
  return to + INSIDE;
}

/** A quad in its order waits, where finer bins don't say that the frame has none like it. */
function wait(endA: i32, endB: i32, first: usize, second: usize, length: f64): void {
  const cx = load<f64>(first), dx = load<f64>(second);
  const turned = cx + dx > 0;
  const swapped = turned ? cx < dx : cx > dx;
  const c = swapped ? second : first, d = swapped ? first : second;
  const places = f32x4.demote_f64x2_zero(v128.load(c)), others = f32x4.demote_f64x2_zero(v128.load(d));
  const seen = v128.shuffle<f32>(places, others, 0, 1, 4, 5);
  const code = turned ? f32x4.neg(seen) : seen;
  if (fineBins !== 0) {
    const fine = binOf(code, fineBins);
    if ((load<u32>(reached + (<usize>(fine >> 5) << 2)) >> (fine & 31) & 1) === 0) return;
  }
  const to = waitingEnd;
  v128.store(to, code);
  store<i32>(to + 16, turned ? endB : endA);
  store<i32>(to + 20, turned ? endA : endB);
  store<i32>(to + 24, load<i32>(c + 16));
  store<i32>(to + 28, load<i32>(d + 16));
  store<f64>(to + 32, length);
  store<i32>(to + 40, binOf(code, bins));
  waitingEnd = to + WAITING;
}

/** Looks a quad up in the frame. */
function lookUp(quad: usize): void {
  const bin = starts + (<usize>load<i32>(quad + 40) << 2);
  const code = v128.load(quad);
  const length = load<f64>(quad + 32);
  const end = slots + <usize>load<i32>(bin + 4) * SLOT;
  for (let slot = slots + <usize>load<i32>(bin) * SLOT; slot < end; slot += SLOT) {
    const apart = f32x4.abs(f32x4.sub(v128.load(slot), code));
    if (v128.any_true(f32x4.gt(apart, f32x4.splat(load<f32>(slot + 16))))) continue;
    const side = <f64>load<f32>(slot + 20);
    if (side < length / reach || side > length * reach || count === most) continue;
    const hit = hits + <usize>count * HIT;
    store<i32>(hit, <i32>load<f32>(slot + 24));
    v128.store(hit + 4, v128.load(quad, 16));
    store<f64>(hit + 24, length);
    count++;
  }
}

function binOf(code: v128, along: i32): i32 {
  const half = f32x4.splat(<f32>along / 2);
  const last = i32x4.splat(along - 1);
  const at = i32x4.trunc_sat_f32x4_s(f32x4.mul(f32x4.add(code, f32x4.splat(1)), half));
  const bin = i32x4.min_s(i32x4.max_s(at, i32x4.splat(0)), last);
  return ((i32x4.extract_lane(bin, 0) * along + i32x4.extract_lane(bin, 1)) * along + i32x4.extract_lane(bin, 2)) * along
    + i32x4.extract_lane(bin, 3);
}
