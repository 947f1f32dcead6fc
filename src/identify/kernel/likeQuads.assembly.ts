// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into likeQuadsCode.ts.
// The same as `plainLikeQuads` does, number for number. All addresses are bytes in the module's own memory.

/** Partners at most, and themselves: rows and columns of the table of chords. */
const MOST: i32 = 13;
/** Bytes of a hit: entry, A, B, C, D, nothing (32 bits each), side (64 bits). */
const HIT: usize = 32;
/** Numbers of a frame's quad. */
const ENTRY: usize = 48;

/** Directions: all x, all y, all z, so that two stars are taken at once. */
let xs: usize = 0;
let ys: usize = 0;
let zs: usize = 0;
let rank: usize = 0;
let partners: i32 = 0;
let shortest: f64 = 0;
let longest: f64 = 0;

let codes: usize = 0;
let bins: i32 = 0;
let starts: usize = 0;
let entries: usize = 0;
let reach: f64 = 0;

/** Room for a star's partners, nearest first, and itself; for the squares of their distances; for those of all their chords. */
let group: usize = 0;
let distances: usize = 0;
let chords: usize = 0;
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

/** The quads of the frame, and by how much sides may differ. */
export function takeFrame(codesAt: usize, binsAlong: i32, startsAt: usize, entriesAt: usize, sides: f64): void {
  codes = codesAt;
  bins = binsAlong;
  starts = startsAt;
  entries = entriesAt;
  reach = sides;
}

/** Where it works, and where hits go, `atMost` of them for one star. */
export function takeRoom(room: usize, hitsAt: usize, atMost: i32): void {
  group = room;
  distances = group + 64;
  chords = distances + 128;
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
  for (let l = 2; l < found; l++) {
    for (let k = 1; k < l; k++) {
      for (let j = 0; j < k; j++) lookUp(found, j, k, l);
    }
  }
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

/** Describes four stars of the group, and looks their description up in the frame. */
function lookUp(i: i32, j: i32, k: i32, l: i32): void {
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
  const bin = ((binOf(cxs) * bins + binOf(cys)) * bins + binOf(dxs)) * bins + binOf(dys);
  const length = Math.sqrt(side);
  const to = load<i32>(starts + (<usize>(bin + 1) << 2));
  for (let n = load<i32>(starts + (<usize>bin << 2)); n < to; n++) {
    const entry = load<i32>(entries + (<usize>n << 2));
    const at = codes + <usize>entry * ENTRY;
    const open = load<f64>(at + 32);
    if (Math.abs(load<f64>(at) - cxs) > open || Math.abs(load<f64>(at + 8) - cys) > open) continue;
    if (Math.abs(load<f64>(at + 16) - dxs) > open || Math.abs(load<f64>(at + 24) - dys) > open) continue;
    const seen = load<f64>(at + 40) / length;
    if (seen > reach || seen * reach < 1 || count === most) continue;
    const hit = hits + <usize>count * HIT;
    store<i32>(hit, entry);
    store<i32>(hit + 4, starA);
    store<i32>(hit + 8, starB);
    store<i32>(hit + 12, starC);
    store<i32>(hit + 16, starD);
    store<f64>(hit + 24, length);
    count++;
  }
}

function binOf(at: f64): i32 {
  const bin = <i32>Math.floor(((at + 1) / 2) * <f64>bins);
  return bin < 0 ? 0 : bin >= bins ? bins - 1 : bin;
}
