// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into fitRoundCode.ts.
// All addresses are bytes in the module's own memory, of 64-bit numbers unless said otherwise.

/** From outside. */
declare function pow(x: f64, y: f64): f64;
declare function exp(x: f64): f64;

/**
 * One round of a star's fit, the sums in the order of `plainFitRound`: the model at the pixels within `reach` of the start that have a
 * value (`values`, `light`, 32-bit `index`), and its normal equations `matrix`, `vector`. The weighted sum of squared residuals goes
 * behind the vector. Returns how many pixels took part.
 *
 * @param table `entries` of the profile, then of its slope
 * @param rule three places in a pixel, then their weights; `points` of them count
 */
function fitRound(
  stamp: usize, columns: i32, rows: i32, left: f64, top: f64, x: f64, y: f64, startX: f64, startY: f64, reach: f64,
  ia: f64, ib: f64, ic: f64, peak: f64, sky: f64, variance: f64, perLight: f64,
  table: usize, entries: i32, perUnit: f64, beta: f64, c: f64, rule: usize, points: i32,
  values: usize, light: usize, index: usize, matrix: usize, vector: usize,
): i32 {
  let xx: f64 = 0, xy: f64 = 0, xp: f64 = 0, x1: f64 = 0, xw: f64 = 0, yy: f64 = 0, yp: f64 = 0, y1: f64 = 0, yw: f64 = 0;
  let pp: f64 = 0, p1: f64 = 0, pw: f64 = 0, one: f64 = 0, w1: f64 = 0, ww: f64 = 0;
  let rx: f64 = 0, ry: f64 = 0, rp: f64 = 0, r1: f64 = 0, rw: f64 = 0, squares: f64 = 0;
  const slopes = table + (<usize>entries << 3);
  const tableEnd = <f64>(entries - 2);
  let n = 0;
  for (let v = 0; v < rows; v++) {
    const dy = top + <f64>v - y;
    const fromStart = top + <f64>v - startY;
    const across = sqrt(max<f64>(0, reach * reach - fromStart * fromStart));
    const first = <i32>max<f64>(0, ceil(startX - across) - left);
    const last = <i32>min<f64>(<f64>(columns - 1), floor(startX + across) - left);
    for (let u = first; u <= last; u++) {
      const at = v * columns + u;
      const value = load<f64>(stamp + (<usize>at << 3));
      if (isNaN(value)) continue;
      const dx = left + <f64>u - x;
      let byPeak: f64 = 0, byX: f64 = 0, byY: f64 = 0, byWidth: f64 = 0;
      for (let j = 0; j < points; j++) {
        for (let i = 0; i < points; i++) {
          const ex = dx + load<f64>(rule + (<usize>i << 3));
          const ey = dy + load<f64>(rule + (<usize>j << 3));
          const weight = load<f64>(rule + (<usize>i << 3), 24) * load<f64>(rule + (<usize>j << 3), 24);
          const ax = ia * ex + ib * ey;
          const ay = ib * ex + ic * ey;
          const q = ax * ex + ay * ey;
          const place = q * perUnit;
          let p: f64, slope: f64;
          if (place < tableEnd) {
            const step = <i32>place;
            const f = place - <f64>step;
            const here = <usize>step << 3;
            const p0 = load<f64>(table + here);
            const s0 = load<f64>(slopes + here);
            p = p0 + f * (load<f64>(table + here, 8) - p0);
            slope = s0 + f * (load<f64>(slopes + here, 8) - s0);
          } else {
            const base = 1 + c * q;
            p = pow(base, -beta);
            slope = (-beta * c * p) / base;
          }
          const twice = -2 * slope * weight;
          byPeak += weight * p;
          byX += twice * ax;
          byY += twice * ay;
          byWidth += twice * q;
        }
      }
      byX *= peak;
      byY *= peak;
      byWidth *= peak;
      const l = byPeak * peak;
      store<f64>(values + (<usize>n << 3), value);
      store<f64>(light + (<usize>n << 3), l);
      store<i32>(index + (<usize>n << 2), at);
      n++;
      const weight = 1 / (variance + (l > 0 ? perLight * l : 0));
      const r = value - l - sky;
      const a = weight * byX, b = weight * byY, e = weight * byPeak, d = weight * byWidth;
      xx += a * byX; xy += a * byY; xp += a * byPeak; x1 += a; xw += a * byWidth;
      yy += b * byY; yp += b * byPeak; y1 += b; yw += b * byWidth;
      pp += e * byPeak; p1 += e; pw += e * byWidth;
      one += weight; w1 += d; ww += d * byWidth;
      rx += a * r; ry += b * r; rp += e * r; r1 += weight * r; rw += d * r;
      squares += weight * r * r;
    }
  }
  store<f64>(matrix, xx, 0); store<f64>(matrix, xy, 8); store<f64>(matrix, xp, 16); store<f64>(matrix, x1, 24);
  store<f64>(matrix, xw, 32); store<f64>(matrix, yy, 48); store<f64>(matrix, yp, 56); store<f64>(matrix, y1, 64);
  store<f64>(matrix, yw, 72); store<f64>(matrix, pp, 96); store<f64>(matrix, p1, 104); store<f64>(matrix, pw, 112);
  store<f64>(matrix, one, 144); store<f64>(matrix, w1, 152); store<f64>(matrix, ww, 192);
  store<f64>(vector, rx, 0); store<f64>(vector, ry, 8); store<f64>(vector, rp, 16); store<f64>(vector, r1, 24);
  store<f64>(vector, rw, 32); store<f64>(vector, squares, 40);
  return n;
}

/** The places of a fit's state, and the number of its unknowns: see `quickFitRound.ts`. */
const X = 0, Y = 8, PEAK = 16, SKY = 24, WIDTH = 32, SIGMA_X = 40, SIGMA_Y = 48, CHI2 = 56, PIXELS = 64, SETTLED = 72;
const P = 5;

function at(numbers: usize, index: i32): f64 {
  return load<f64>(numbers + (<usize>index << 3));
}

function put(numbers: usize, index: i32, value: f64): void {
  store<f64>(numbers + (<usize>index << 3), value);
}

function clamp(value: f64, most: f64): f64 {
  return max<f64>(-most, min<f64>(most, value));
}

/** `factor` of fitStar.ts. */
function factor(H: usize): bool {
  for (let i = 0; i < P; i++) {
    for (let j = i; j < P; j++) {
      let sum = at(H, i * P + j);
      for (let k = 0; k < i; k++) sum -= at(H, k * P + i) * at(H, k * P + j);
      if (i === j) {
        if (!(sum > 0)) return false;
        put(H, i * P + i, sqrt(sum));
      } else put(H, i * P + j, sum / at(H, i * P + i));
    }
  }
  return true;
}

/** `solve` of fitStar.ts. */
function solve(H: usize, g: usize): void {
  for (let i = 0; i < P; i++) {
    let sum = at(g, i);
    for (let k = 0; k < i; k++) sum -= at(H, k * P + i) * at(g, k);
    put(g, i, sum / at(H, i * P + i));
  }
  for (let i = P - 1; i >= 0; i--) {
    let sum = at(g, i);
    for (let k = i + 1; k < P; k++) sum -= at(H, i * P + k) * at(g, k);
    put(g, i, sum / at(H, i * P + i));
  }
}

/** `sigmaOf` of fitStar.ts. */
function sigmaOf(parameter: i32, H: usize, g: usize): f64 {
  for (let k = 0; k < P; k++) put(g, k, k === parameter ? 1 : 0);
  solve(H, g);
  return sqrt(at(g, parameter));
}

/** The rounds of `fitStar`, on the numbers at `fit`. Returns how many pixels took part. */
export function fitStar(
  fit: usize, stamp: usize, columns: i32, rows: i32, left: f64, top: f64, xx: f64, xy: f64, yy: f64, reach: f64, widthSpread: f64,
  skySpread: f64, noiseSky: f64, perLight: f64, longestStep: f64,
  table: usize, entries: i32, perUnit: f64, beta: f64, c: f64, rule: usize, points: i32,
  values: usize, light: usize, index: usize, matrix: usize, vector: usize,
): i32 {
  const startX = load<f64>(fit, X), startY = load<f64>(fit, Y);
  const det = xx * yy - xy * xy;
  let n = 0;
  store<f64>(fit, 0, SETTLED);
  for (let round = 0; round < 15; round++) {
    const scale = exp(-2 * load<f64>(fit, WIDTH)) / det;
    for (let k = 0; k < P * P; k++) put(matrix, k, 0);
    n = fitRound(
      stamp, columns, rows, left, top, load<f64>(fit, X), load<f64>(fit, Y), startX, startY, reach, yy * scale, -xy * scale, xx * scale,
      load<f64>(fit, PEAK), load<f64>(fit, SKY), noiseSky * noiseSky, perLight, table, entries, perUnit, beta, c, rule, points,
      values, light, index, matrix, vector,
    );
    store<f64>(fit, <f64>n, PIXELS);
    if (n < P + 1) break;
    store<f64>(fit, at(vector, P) / <f64>(n - P), CHI2);
    put(matrix, 18, at(matrix, 18) + 1 / (skySpread * skySpread));
    put(vector, 3, at(vector, 3) - load<f64>(fit, SKY) / (skySpread * skySpread));
    put(matrix, 24, at(matrix, 24) + 1 / (widthSpread * widthSpread));
    put(vector, 4, at(vector, 4) - load<f64>(fit, WIDTH) / (widthSpread * widthSpread));
    if (!factor(matrix)) break;
    solve(matrix, vector);
    const stepX = clamp(at(vector, 0), longestStep);
    const stepY = clamp(at(vector, 1), longestStep);
    const stepWidth = clamp(at(vector, 4), 0.4);
    const stepPeak = at(vector, 2);
    const x = load<f64>(fit, X) + stepX;
    const y = load<f64>(fit, Y) + stepY;
    const peak = load<f64>(fit, PEAK) + stepPeak;
    const width = load<f64>(fit, WIDTH) + stepWidth;
    store<f64>(fit, x, X);
    store<f64>(fit, y, Y);
    store<f64>(fit, peak, PEAK);
    store<f64>(fit, load<f64>(fit, SKY) + at(vector, 3), SKY);
    store<f64>(fit, width, WIDTH);
    const strayed = abs(x - left - <f64>columns / 2) > <f64>columns || abs(y - top - <f64>rows / 2) > <f64>rows;
    if (!(abs(width) < 2) || !(peak > 0) || strayed) break;
    const sigmaX = sigmaOf(0, matrix, vector);
    const sigmaY = sigmaOf(1, matrix, vector);
    store<f64>(fit, sigmaX, SIGMA_X);
    store<f64>(fit, sigmaY, SIGMA_Y);
    if (stepX * stepX + stepY * stepY < 4e-4 * (sigmaX * sigmaX + sigmaY * sigmaY)
      && abs(stepWidth) < 0.01 && abs(stepPeak) < 0.02 * peak) {
      store<f64>(fit, 1, SETTLED);
      break;
    }
  }
  return n;
}

/** `subtractNeighbour` of neighbours.ts. */
export function subtract(
  stamp: usize, columns: i32, rows: i32, left: f64, top: f64, x: f64, y: f64, peak: f64, xx: f64, xy: f64, yy: f64, logWidth: f64,
  beta: f64, c: f64, rule: usize, points: i32,
): void {
  const scale = exp(-2 * logWidth) / (xx * yy - xy * xy);
  for (let v = 0; v < rows; v++) {
    const dy = top + <f64>v - y;
    for (let u = 0; u < columns; u++) {
      const dx = left + <f64>u - x;
      let p: f64 = 0;
      for (let j = 0; j < points; j++) {
        for (let i = 0; i < points; i++) {
          const ex = dx + at(rule, i);
          const ey = dy + at(rule, j);
          const q = (yy * ex * ex - 2 * xy * ex * ey + xx * ey * ey) * scale;
          p += at(rule, i + 3) * at(rule, j + 3) * pow(1 + c * q, -beta);
        }
      }
      put(stamp, v * columns + u, at(stamp, v * columns + u) - peak * p);
    }
  }
}
