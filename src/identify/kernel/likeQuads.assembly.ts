// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into likeQuadsCode.ts.
// The same as `plainLikeQuads` does, number for number. All addresses are bytes in the module's own memory.

/** Partners at most, and themselves: rows and columns of the table of chords. */
const MOST: i32 = 13;
/** Bytes of a hit: entry, A, B, C, D, nothing (32 bits each), side (64 bits). */
const HIT: usize = 32;
/** Bytes of a slot of the frame: places of C and D, by how much they may differ, side, entry (32 bits each), nothing. */
const SLOT: usize = 32;
/** Bytes of a quad that waits: its places as in a slot, its stars (32 bits each), side (64 bits), bin (32 bits), nothing. */
const WAITING: usize = 48;

/** Directions: all x, all y, all z, so that two stars are taken at once. */
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
  waiting = chords + <usize>(MOST * MOST * 8) + 8;
  hits = hitsAt;
  most = atMost;
}

/** Writes the hits of a star's quads. Returns how many. `ranges`: pairs of the first star around it and the one after the last. */
export function like(star: i32, ranges: usize, end: usize): i32 {
  count = 0;
  brighterPartners(star, ranges, end);
  if (found < 3) return 0;
  store<i32>(group + (<usize>found << 2), star);
  measureChords(found + 1);
  waitingEnd = waiting;
  for (let l = 2; l < found; l++) {
    for (let k = 1; k < l; k++) {
      for (let j = 0; j < k; j++) describe(found, j, k, l);
    }
  }
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

function brighterPartners(star: i32, ranges: usize, end: usize): void {
  const bright = load<i32>(rank + (<usize>star << 2));
  const x = f64x2.splat(xOf(star)), y = f64x2.splat(yOf(star)), z = f64x2.splat(zOf(star));
  found = 0;
  farthest = longest;
  for (let r = ranges; r < end; r += 8) {
    let j = load<i32>(r);
    const to = firstFainter(j, load<i32>(r + 4), bright);
    for (; j < to; j += 2) {
      const at = <usize>j << 3;
      const dx = f64x2.sub(v128.load(xs + at), x), dy = f64x2.sub(v128.load(ys + at), y), dz = f64x2.sub(v128.load(zs + at), z);
      const d2 = f64x2.add(f64x2.add(f64x2.mul(dx, dx), f64x2.mul(dy, dy)), f64x2.mul(dz, dz));
      const near = i64x2.bitmask(f64x2.lt(d2, f64x2.splat(farthest)));
      if (near === 0) continue;
      if (near & 1) insert(j, f64x2.extract_lane(d2, 0));
      // Past the last star stands what does not count.
      if ((near & 2) && j + 1 < to) insert(j + 1, f64x2.extract_lane(d2, 1));
    }
  }
}

/** In a range that is sorted by brightness the first star that is not brighter. */
function firstFainter(from: i32, to: i32, bright: i32): i32 {
  while (from < to) {
    const middle = (from + to) >> 1;
    if (load<i32>(rank + (<usize>middle << 2)) < bright) from = middle + 1;
    else to = middle;
  }
  return from;
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
  for (let i = 1; i < used; i++) {
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

/** Describes four stars of the group: a quad that waits, where finer bins don't say that the frame has none like it. */
function describe(i: i32, j: i32, k: i32, l: i32): void {
  let a = i, b = j, c = k, d = l;
  let side = chord(i, j);
  let s = chord(i, k);
  if (s > side) { side = s; b = k; c = j; }
  s = chord(i, l);
  if (s > side) { side = s; b = l; c = j; d = k; }
  s = chord(j, k);
  if (s > side) { side = s; a = j; b = k; c = i; d = l; }
  s = chord(j, l);
  if (s > side) { side = s; a = j; b = l; c = i; d = k; }
  s = chord(k, l);
  if (s > side) { side = s; a = k; b = l; c = i; d = j; }
  if (side < shortest || side > longest) return;
  const ca = chord(c, a), cb = chord(c, b);
  const da = chord(d, a), db = chord(d, b);
  if (ca + cb > side || da + db > side) return;
  const along = (4 - side) / side;
  const overC = 1 / (4 - ca - cb), overD = 1 / (4 - da - db);
  const cx = along * (ca - cb) * overC;
  const dx = along * (da - db) * overD;
  let starA = member(a), starB = member(b), starC = member(c), starD = member(d);
  const ax = xOf(starA), ay = yOf(starA), az = zOf(starA);
  const ex = xOf(starB) - ax, ey = yOf(starB) - ay, ez = zOf(starB) - az;
  const nx = ay * ez - az * ey, ny = az * ex - ax * ez, nz = ax * ey - ay * ex;
  const across = (4 * Math.sqrt(4 - side)) / side;
  const cy = across * (xOf(starC) * nx + yOf(starC) * ny + zOf(starC) * nz) * overC;
  const dy = across * (xOf(starD) * nx + yOf(starD) * ny + zOf(starD) * nz) * overD;
  const turned = cx + dx > 0;
  const swapped = turned ? cx < dx : cx > dx;
  const turn: f64 = turned ? -1 : 1;
  if (turned) { const t = starA; starA = starB; starB = t; }
  if (swapped) { const t = starC; starC = starD; starD = t; }
  const cxs = turn * (swapped ? dx : cx), cys = turn * (swapped ? dy : cy);
  const dxs = turn * (swapped ? cx : dx), dys = turn * (swapped ? cy : dy);
  if (fineBins !== 0) {
    const fine = binOf4(cxs, cys, dxs, dys, fineBins);
    if ((load<u32>(reached + (<usize>(fine >> 5) << 2)) >> (fine & 31) & 1) === 0) return;
  }
  const to = waitingEnd;
  store<f32>(to, <f32>cxs);
  store<f32>(to + 4, <f32>cys);
  store<f32>(to + 8, <f32>dxs);
  store<f32>(to + 12, <f32>dys);
  store<i32>(to + 16, starA);
  store<i32>(to + 20, starB);
  store<i32>(to + 24, starC);
  store<i32>(to + 28, starD);
  store<f64>(to + 32, Math.sqrt(side));
  store<i32>(to + 40, binOf4(cxs, cys, dxs, dys, bins));
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

function binOf4(cx: f64, cy: f64, dx: f64, dy: f64, along: i32): i32 {
  return ((binOf(cx, along) * along + binOf(cy, along)) * along + binOf(dx, along)) * along + binOf(dy, along);
}

function binOf(at: f64, along: i32): i32 {
  const bin = <i32>Math.floor(((at + 1) / 2) * <f64>along);
  return bin < 0 ? 0 : bin >= along ? along - 1 : bin;
}
