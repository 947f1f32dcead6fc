// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into pixelsCode.ts.
// All addresses are bytes in the memory given, of 64-bit numbers unless said otherwise. Each function gives the same numbers as the one in
// JavaScript that its comment names, to the last bit.

/** From outside. */
declare function exp(x: f64): f64;
declare function log(x: f64): f64;
declare function pow(x: f64, y: f64): f64;
declare function hypot(x: f64, y: f64): f64;

let pixels: usize = 0, kind: i32 = 0, width: i32 = 0, height: i32 = 0;
let levels: usize = 0, noises: usize = 0, columns: i32 = 0, rows: i32 = 0, cellWidth: f64 = 1, cellHeight: f64 = 1;
/** Results of a window's sums, then a place (2) and a shape (3); see `quickPixels.ts`. */
let out: usize = 0;
/** Room for the two cubics of a mesh's value (2 x 4 weights, then 2 x 4 whole numbers of 32 bits) and for nine numbers. */
let room: usize = 0;

export function takePicture(address: usize, itsKind: i32, itsWidth: i32, itsHeight: i32, results: usize, scratch: usize): void {
  pixels = address;
  kind = itsKind;
  width = itsWidth;
  height = itsHeight;
  out = results;
  room = scratch;
}

export function takeMesh(level: usize, noise: usize, meshColumns: i32, meshRows: i32, w: f64, h: f64): void {
  levels = level;
  noises = noise;
  columns = meshColumns;
  rows = meshRows;
  cellWidth = w;
  cellHeight = h;
}

function at(numbers: usize, index: i32): f64 {
  return load<f64>(numbers + (<usize>index << 3));
}

function put(numbers: usize, index: i32, value: f64): void {
  store<f64>(numbers + (<usize>index << 3), value);
}

function pixel(index: i32): f64 {
  switch (kind) {
    case 0: return <f64>load<u8>(pixels + <usize>index);
    case 1: return <f64>load<u16>(pixels + (<usize>index << 1));
    case 2: return <f64>load<i16>(pixels + (<usize>index << 1));
    case 3: return <f64>load<u32>(pixels + (<usize>index << 2));
    case 4: return <f64>load<i32>(pixels + (<usize>index << 2));
    case 5: return <f64>load<f32>(pixels + (<usize>index << 2));
    default: return load<f64>(pixels + (<usize>index << 3));
  }
}

/** `select` of quantile.ts. */
function select(a: usize, from: i32, to: i32, k: i32): f64 {
  let lo = from;
  let hi = to - 1;
  while (lo < hi) {
    const pivot = at(a, (lo + hi) >>> 1);
    let i = lo;
    let j = hi;
    while (i <= j) {
      while (at(a, i) < pivot) i++;
      while (at(a, j) > pivot) j--;
      if (i <= j) {
        const swap = at(a, i);
        put(a, i, at(a, j));
        put(a, j, swap);
        i++;
        j--;
      }
    }
    if (k <= j) hi = j;
    else if (k >= i) lo = i;
    else break;
  }
  return at(a, k);
}

/** `quantile` of quantile.ts. */
export function quantile(a: usize, n: i32, q: f64, searched: i32): f64 {
  if (n === 0) return NaN;
  const k = min<i32>(n - 1, max<i32>(0, <i32>floor(q * <f64>n)));
  const value = select(a, 0, max<i32>(searched, k + 1), k);
  let below = 0;
  let equal = 0;
  let previous: f64 = -Infinity;
  let next: f64 = Infinity;
  for (let i = 0; i < n; i++) {
    const v = at(a, i);
    if (v < value) {
      below++;
      if (v > previous) previous = v;
    } else if (v > value) {
      if (v < next) next = v;
    } else equal++;
  }
  if (equal === n) return value;
  const down = previous > -Infinity ? (value - previous) / 2 : (next - value) / 2;
  const up = next < Infinity ? (next - value) / 2 : down;
  const share = (q * <f64>n - <f64>below) / <f64>equal;
  return value - down + (down + up) * min<f64>(1, max<f64>(0, share));
}

/** `plainCell` of background.ts: returns how many pixels the cell has; its level, noise and difference go to `out`. */
export function cell(
  left: i32, top: i32, right: i32, bottom: i32, stepX: i32, stepY: i32, least: f64, values: usize, differences: usize,
): i32 {
  let n = 0;
  let pairs = 0;
  let phase = 0;
  for (let y = top; y < bottom; y += stepY) {
    const row = y * width;
    for (let x = left + phase; x < right; x += stepX) {
      const v = pixel(row + x);
      if (v - v !== 0) continue;
      put(values, n++, v);
      if (x + 2 < right) {
        const difference = abs(pixel(row + x + 2) - v);
        if (difference < Infinity) put(differences, pairs++, difference);
      }
    }
    phase = phase + 1 < stepX ? phase + 1 : 0;
  }
  if (n === 0 || <f64>n < least) return n;
  const count = n;
  let level: f64 = 0;
  let noise: f64 = 0;
  for (let round = 0; ; round++) {
    level = quantile(values, n, 0.5, n);
    noise = level - quantile(values, n, 0.15866, (n >> 1) + 1);
    if (round === 3 || noise <= 0) break;
    const low = level - 4 * noise;
    const high = level + 3 * noise;
    let kept = 0;
    for (let k = 0; k < n; k++) {
      const v = at(values, k);
      if (v >= low && v <= high) put(values, kept++, v);
    }
    if (<f64>kept > 0.985 * <f64>n || kept === 0) break;
    n = kept;
  }
  put(out, 0, level);
  put(out, 1, noise);
  put(out, 2, pairs < 20 ? NaN : quantile(differences, pairs, 0.5, pairs));
  return count;
}

/** Adds a weight of the cubic to the place of its cell. */
function share(weights: usize, first: i32, cell: i32, weight: f64): void {
  const k = min<i32>(cell - first, 3);
  put(weights, k, at(weights, k) + weight);
}

/** `cubic` of background.ts. */
function cubic(place: f64, n: i32, weights: usize, cells: usize): void {
  const i = min<i32>(n - 1, max<i32>(-1, <i32>floor(max<f64>(-2, min<f64>(<f64>n, place)))));
  const t = place - <f64>i;
  const first = min<i32>(max<i32>(i - 1, 0), max<i32>(0, n - 4));
  for (let k = 0; k < 4; k++) {
    store<i32>(cells + (<usize>k << 2), min<i32>(first + k, n - 1));
    put(weights, k, 0);
  }
  for (let k = 0; k < 4; k++) {
    const cell = i - 1 + k;
    const weight = k === 0 ? t * (-0.5 + t * (1 - 0.5 * t))
      : k === 1 ? 1 + t * t * (1.5 * t - 2.5)
      : k === 2 ? t * (0.5 + t * (2 - 1.5 * t))
      : t * t * (0.5 * t - 0.5);
    if (cell < 0) {
      if (n > 1) {
        share(weights, first, 0, weight * <f64>(1 - cell));
        share(weights, first, 1, weight * <f64>cell);
      } else share(weights, first, 0, weight);
    } else if (cell >= n) {
      const beyond = cell - n + 1;
      if (n > 1) {
        share(weights, first, n - 1, weight * <f64>(1 + beyond));
        share(weights, first, n - 2, -weight * <f64>beyond);
      } else share(weights, first, 0, weight);
    } else share(weights, first, cell, weight);
  }
}

/** `meshAt` of background.ts, of the sky's level. */
export function levelAt(x: f64, y: f64): f64 {
  const across = room, down = room + 32, acrossCells = room + 64, downCells = room + 80;
  cubic((y + 0.5) / cellHeight - 0.5, rows, down, downCells);
  cubic((x + 0.5) / cellWidth - 0.5, columns, across, acrossCells);
  let sum: f64 = 0;
  for (let j = 0; j < 4; j++) {
    let line: f64 = 0;
    const start = load<i32>(downCells + (<usize>j << 2)) * columns;
    for (let i = 0; i < 4; i++) line += at(across, i) * at(levels, start + load<i32>(acrossCells + (<usize>i << 2)));
    sum += at(down, j) * line;
  }
  return sum;
}

/** `noiseAt` of background.ts. */
export function noiseAt(x: f64, y: f64): f64 {
  const u = min<f64>(<f64>(columns - 1), max<f64>(0, (x + 0.5) / cellWidth - 0.5));
  const v = min<f64>(<f64>(rows - 1), max<f64>(0, (y + 0.5) / cellHeight - 0.5));
  const i = min<i32>(<i32>floor(u), max<i32>(0, columns - 2));
  const j = min<i32>(<i32>floor(v), max<i32>(0, rows - 2));
  const right = min<i32>(i + 1, columns - 1);
  const under = min<i32>(j + 1, rows - 1);
  const fi = <f64>i, fj = <f64>j;
  const upper = at(noises, j * columns + i) * (1 - (u - fi)) + at(noises, j * columns + right) * (u - fi);
  const lower = at(noises, under * columns + i) * (1 - (u - fi)) + at(noises, under * columns + right) * (u - fi);
  return upper * (1 - (v - fj)) + lower * (v - fj);
}

/** The loop of `blockCorrelation`: returns how many values it puts at `values`. */
export function blockProbes(block: i32, step: f64, across: f64, down: f64, places: i32, values: usize): i32 {
  const reach = 3 * block;
  const middle = <f64>(reach - 1) / 2;
  let n = 0;
  for (let v0: f64 = 0; v0 < down; v0 += step) {
    for (let i = 0; i < places; i++) {
      const y = <i32>floor(v0);
      const x = <i32>floor(<f64>i * step);
      const sky = levelAt(<f64>x + middle, <f64>y + middle);
      let sum: f64 = 0;
      for (let v = 0; v < reach; v++) {
        let part: f64 = 0;
        const row = (y + v) * width + x;
        for (let u = 0; u < reach; u++) part += (u >= block && u < 2 * block ? 2 : 1) * (pixel(row + u) - sky);
        sum += (v >= block && v < 2 * block ? 2 : 1) * part;
      }
      put(values, n++, sum - sum === 0 ? sum / (6 * <f64>block * noiseAt(<f64>x, <f64>y)) : NaN);
    }
  }
  return n;
}

/** The loop of `matchedCorrelation`: fills `count` values. */
export function matchedProbes(step: f64, places: i32, count: i32, xx: f64, xy: f64, yy: f64, values: usize): void {
  let n = 0;
  for (let y = step / 2; n < count; y += step) {
    for (let i = 0; i < places; i++) {
      const u = floor((<f64>i + 0.5) * step);
      const v = floor(y);
      windowSums(u, v, xx, xy, yy, levelAt(u, v), Infinity);
      put(values, n++, at(out, 7) > 0.9 ? at(out, 0) / (noiseAt(u, v) * sqrt(at(out, 6))) : NaN);
    }
  }
}

/** The loop of `spreadOfPart`: returns how many values it puts at `plain`, and less their neighbours' median at `less`. */
export function probesOfPart(
  values: usize, places: i32, lines: i32, left: i32, top: i32, right: i32, bottom: i32, medianSigma: f64, less: usize, plain: usize,
): i32 {
  let n = 0;
  for (let j = top; j < bottom; j++) {
    for (let i = left; i < right; i++) {
      const value = at(values, j * places + i);
      if (isNaN(value)) continue;
      let m = 0;
      for (let v = max<i32>(0, j - 1); v <= min<i32>(lines - 1, j + 1); v++) {
        for (let u = max<i32>(0, i - 1); u <= min<i32>(places - 1, i + 1); u++) {
          const other = at(values, v * places + u);
          if ((u !== i || v !== j) && !isNaN(other)) put(room, m++, other);
        }
      }
      if (m < 5) continue;
      put(plain, n, value);
      put(less, n++, (value - quantile(room, m, 0.5, m)) / medianSigma);
    }
  }
  return n;
}

/** `windowSums` of window.ts, into `out`; returns how many pixels it looked at. */
export function windowSums(x: f64, y: f64, wxx: f64, wxy: f64, wyy: f64, sky: f64, ceiling: f64): f64 {
  const det = wxx * wyy - wxy * wxy;
  const a = wyy / det;
  const b = -wxy / det;
  const c = wxx / det;
  const reachX = 3 * sqrt(wxx);
  const reachY = 3 * sqrt(wyy);
  // As numbers first: a place far outside is no whole number of 32 bits.
  const leftmost = max<f64>(0, ceil(x - reachX));
  const rightmost = min<f64>(<f64>(width - 1), floor(x + reachX));
  const topmost = max<f64>(0, ceil(y - reachY));
  const lowest = min<f64>(<f64>(height - 1), floor(y + reachY));
  const start = leftmost - x;
  let light: f64 = 0, sx: f64 = 0, sy: f64 = 0, sxx: f64 = 0, sxy: f64 = 0, syy: f64 = 0, weight: f64 = 0, total: f64 = 0;
  const bend = exp(-a);
  if (leftmost <= rightmost && topmost <= lowest) {
    const left = <i32>leftmost, right = <i32>rightmost, top = <i32>topmost, bottom = <i32>lowest;
    for (let v = top; v <= bottom; v++) {
      const dy = <f64>v - y;
      let g = exp(-0.5 * (a * start * start + 2 * b * start * dy + c * dy * dy));
      let step = exp(-a * (start + 0.5) - b * dy);
      const row = v * width;
      let rowLight: f64 = 0, rowX: f64 = 0, rowXX: f64 = 0;
      for (let u = left; u <= right; u++) {
        const value = pixel(row + u);
        if (value < ceiling && value - value === 0) {
          const w = g * (value - sky);
          const dx = <f64>u - x;
          rowLight += w;
          rowX += w * dx;
          rowXX += w * dx * dx;
          weight += g * g;
          total += g;
        }
        g *= step;
        step *= bend;
      }
      light += rowLight;
      sx += rowX;
      sxx += rowXX;
      sy += rowLight * dy;
      sxy += rowX * dy;
      syy += rowLight * dy * dy;
    }
  }
  put(out, 0, light);
  put(out, 1, sx / light);
  put(out, 2, sy / light);
  put(out, 3, sxx / light);
  put(out, 4, sxy / light);
  put(out, 5, syy / light);
  put(out, 6, weight);
  put(out, 7, total / (2 * Math.PI * sqrt(det)));
  return max<f64>(0, rightmost - leftmost + 1) * max<f64>(0, lowest - topmost + 1);
}

/** `climb` of climb.ts: 1 where it arrived. Pixels looked at go behind the sums, then the place. */
export function climb(
  x0: f64, y0: f64, wxx: f64, wxy: f64, wyy: f64, longest: f64, sky: f64, ceiling: f64, least: f64, hopes: usize, hopeCount: i32,
): i32 {
  let x = x0;
  let y = y0;
  let looked: f64 = 0;
  for (let round = 0; round < 12; round++) {
    looked += windowSums(x, y, wxx, wxy, wyy, sky, ceiling);
    put(out, 8, looked);
    const light = at(out, 0);
    if (!(light > 0)) return 0;
    if (round < hopeCount && light < at(hopes, round) * least * sqrt(at(out, 6))) return 0;
    const dx = max<f64>(-longest, min<f64>(longest, 2 * at(out, 1)));
    const dy = max<f64>(-longest, min<f64>(longest, 2 * at(out, 2)));
    if (dx * dx + dy * dy < 1e-4) break;
    x += dx;
    y += dy;
    if (abs(x - x0) > 6 * longest + 2 || abs(y - y0) > 6 * longest + 2) return 0;
  }
  put(out, 9, x);
  put(out, 10, y);
  return 1;
}

/** `adaptiveMoments` of shape.ts: 1 where a star was found. Pixels looked at go behind the sums, then the place and the shape. */
export function adaptiveMoments(x0: f64, y0: f64, start: f64, sky: f64): i32 {
  let x = x0;
  let y = y0;
  let sxx = start * start, sxy: f64 = 0, syy = start * start;
  let looked: f64 = 0;
  for (let round = 0; round < 30; round++) {
    looked += windowSums(x, y, sxx, sxy, syy, sky, Infinity);
    put(out, 8, looked);
    if (!(at(out, 0) > 0) || at(out, 7) < 0.9) return 0;
    const dx = at(out, 1), dy = at(out, 2);
    const mx = at(out, 3) - dx * dx;
    const my = at(out, 5) - dy * dy;
    const mxy = at(out, 4) - dx * dy;
    const dm = mx * my - mxy * mxy;
    const dw = sxx * syy - sxy * sxy;
    if (!(dm > 0)) return 0;
    const a = my / dm - syy / dw;
    const b = -mxy / dm + sxy / dw;
    const c = mx / dm - sxx / dw;
    const det = a * c - b * b;
    let nxx: f64, nxy: f64, nyy: f64;
    if (a > 0 && c > 0 && det > 0) {
      nxx = c / det;
      nxy = -b / det;
      nyy = a / det;
    } else {
      nxx = sxx * 4;
      nxy = sxy * 4;
      nyy = syy * 4;
    }
    const ratio = pow(nxx * nyy - nxy * nxy, 0.25) / pow(sxx * syy - sxy * sxy, 0.25);
    if (ratio > 2) {
      const f = 4 / (ratio * ratio);
      nxx *= f;
      nxy *= f;
      nyy *= f;
    }
    x += 2 * max<f64>(-start, min<f64>(start, dx));
    y += 2 * max<f64>(-start, min<f64>(start, dy));
    const mean = (nxx + nyy) / 2;
    const half = hypot((nxx - nyy) / 2, nxy);
    const long = mean + half, short = mean - half;
    if (!(short > 0.04) || long > 900 || hypot(x - x0, y - y0) > 4 * start + sqrt(long)) return 0;
    sxx = nxx;
    sxy = nxy;
    syy = nyy;
    if (abs(log(ratio)) < 1e-3) break;
  }
  put(out, 9, x);
  put(out, 10, y);
  put(out, 11, sxx);
  put(out, 12, sxy);
  put(out, 13, syy);
  return 1;
}

/** The loop of `surroundings`: how many pixels of the ring it puts at `values`, `room` at most; their level and noise go to `out`. */
export function ring(
  x: f64, y: f64, inner: f64, outer: f64, left: i32, right: i32, top: i32, bottom: i32, step: i32, values: usize, most: i32,
): i32 {
  let n = 0;
  for (let v = top; v <= bottom; v += step) {
    const dy = <f64>v - y;
    for (let u = left; u <= right; u += step) {
      const dx = <f64>u - x;
      const r2 = dx * dx + dy * dy;
      if (r2 < inner * inner || r2 > outer * outer || n === most) continue;
      const value = pixel(v * width + u);
      if (value - value === 0) put(values, n++, value);
    }
  }
  if (n < 12) return n;
  const level = quantile(values, n, 0.5, n);
  put(out, 0, level);
  put(out, 1, level - quantile(values, n, 0.15866, n));
  return n;
}

/** `cutStamp` of stamp.ts, its values at `values`. */
export function cut(
  left: i32, right: i32, top: i32, bottom: i32, x: f64, y: f64, sky: f64, slopeX: f64, slopeY: f64, ceiling: f64, values: usize,
): void {
  let k = 0;
  for (let v = top; v <= bottom; v++) {
    let below = sky + slopeY * (<f64>v - y) + slopeX * (<f64>left - x);
    for (let u = left; u <= right; u++) {
      const value = pixel(v * width + u);
      put(values, k++, value < ceiling && value - value === 0 ? value - below : NaN);
      below += slopeX;
    }
  }
}
