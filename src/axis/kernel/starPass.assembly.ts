// AssemblyScript: TypeScript's syntax for WebAssembly. `npm run kernel` compiles it into starPassCode.ts.
// All addresses are bytes in the module's own memory, of 64-bit numbers unless said otherwise.

/** From outside. */
declare function log1p(x: f64): f64;

function at(numbers: usize, index: i32): f64 {
  return load<f64>(numbers + (<usize>index << 3));
}

function put(numbers: usize, index: i32, value: f64): void {
  store<f64>(numbers + (<usize>index << 3), value);
}

function whole(integers: usize, index: i32): i32 {
  return load<i32>(integers + (<usize>index << 2));
}

function addTo(numbers: usize, index: i32, value: f64): void {
  const place = numbers + (<usize>index << 3);
  store<f64>(place, load<f64>(place) + value);
}

/**
 * One pass over all stars, the sums in the order of `plainStarPass`. The sums must be zero before.
 *
 * @param first 32-bit, of each star its first sighting, then their number
 * @param frame 32-bit, of each sighting
 * @param frames 24 numbers a frame: the rotation to the camera, the turns by its five own unknowns
 * @param unknowns 32-bit, 16 places a frame: the indexes of its unknowns; `used` of them count
 * @param lens focal length, centre x and y, 1 or -1 (mirrored), three radial terms, two tangential ones
 * @param scratch 2 x 16 numbers
 */
export function sumStars(
  stars: i32, size: i32, told: i32, sigma: usize, first: usize, frame: usize, vectors: usize, seen: usize, offsets: usize,
  frames: usize, unknowns: usize, used: i32, lens: usize, focal: i32, radialTerms: i32, middle: i32, tangential: i32,
  normal: usize, right: usize, coupling: usize, own: usize, shown: usize, sums: usize, scratch: usize, scale2: f64,
): f64 {
  const f = at(lens, 0), centreX = at(lens, 1), centreY = at(lens, 2), m = at(lens, 3);
  const k1 = at(lens, 4), k2 = at(lens, 5), k3 = at(lens, 6), p1 = at(lens, 7), p2 = at(lens, 8);
  const jx = scratch, jy = scratch + 128;
  let chi: f64 = 0;
  for (let g = 0; g < stars; g++) {
    const begin = whole(first, g), end = whole(first, g + 1);
    const gain = told ? 1 + 0.15 * max<f64>(0, 1 - at(shown, g) / <f64>(end - begin)) : 1;
    const prior = 1 / (at(sigma, g) * at(sigma, g));
    const ox = at(offsets, 2 * g), oy = at(offsets, 2 * g + 1);
    const offsetCost = prior * (ox * ox + oy * oy);
    let m00 = prior, m01: f64 = 0, m11 = prior, b0 = -prior * ox, b1 = -prior * oy, cost = offsetCost;
    addTo(sums, 3, offsetCost);
    const couplings = coupling + (<usize>(2 * size * g) << 3);
    for (let n = begin; n < end; n++) {
      const turned = frames + <usize>(192 * whole(frame, n));
      const mine = unknowns + <usize>(64 * whole(frame, n));
      const vector = vectors + <usize>(72 * n);
      const r0 = at(turned, 0), r1 = at(turned, 1), r2 = at(turned, 2), r3 = at(turned, 3), r4 = at(turned, 4), r5 = at(turned, 5);
      const r6 = at(turned, 6), r7 = at(turned, 7), r8 = at(turned, 8);
      const dx0 = at(vector, 0), dy0 = at(vector, 1), dz0 = at(vector, 2);
      const tx0 = at(vector, 3), ty0 = at(vector, 4), tz0 = at(vector, 5);
      const ax0 = at(vector, 6), ay0 = at(vector, 7), az0 = at(vector, 8);
      const tx = r0 * tx0 + r1 * ty0 + r2 * tz0, ty = r3 * tx0 + r4 * ty0 + r5 * tz0, tz = r6 * tx0 + r7 * ty0 + r8 * tz0;
      const ax = r0 * ax0 + r1 * ay0 + r2 * az0, ay = r3 * ax0 + r4 * ay0 + r5 * az0, az = r6 * ax0 + r7 * ay0 + r8 * az0;
      const cx = r0 * dx0 + r1 * dy0 + r2 * dz0 + (ox * tx + oy * ax);
      const cy = r3 * dx0 + r4 * dy0 + r5 * dz0 + (ox * ty + oy * ay);
      const cz = r6 * dx0 + r7 * dy0 + r8 * dz0 + (ox * tz + oy * az);
      // The projection and its derivatives, as `project` has them.
      if (cz <= 0) return NaN;
      const u = cx / cz, v = cy / cz;
      const s = u * u + v * v;
      const ss = s * s, sss = ss * s;
      const slope = k1 + 2 * k2 * s + 3 * k3 * ss;
      const factor = 1 + k1 * s + k2 * ss + k3 * sss;
      const uu = u * u, uv2 = 2 * u * v, vv = v * v;
      const x = u * factor + p1 * (s + 2 * uu) + p2 * uv2;
      const y = v * factor + p1 * uv2 + p2 * (s + 2 * vv);
      const xu = factor + 2 * uu * slope + 6 * p1 * u + 2 * p2 * v;
      const cross = uv2 * slope + 2 * (p1 * v + p2 * u);
      const yv = factor + 2 * vv * slope + 2 * p1 * u + 6 * p2 * v;
      const d = f / cz;
      const xx = m * d * xu, xy = m * d * cross, xz = -m * d * (xu * u + cross * v);
      const yx = d * cross, yy = d * yv, yz = -d * (cross * u + yv * v);

      const dx = at(seen, 3 * n) - (centreX + m * f * x);
      const dy = at(seen, 3 * n + 1) - (centreY + f * y);
      const s2 = at(seen, 3 * n + 2);
      const q = (dx * dx + dy * dy) / s2 / scale2;
      const weight = 1 / (1 + q);
      const w = (gain / s2) * weight;
      cost += scale2 * log1p(q);
      const square = q * scale2 * weight * weight;
      addTo(sums, 0, weight);
      addTo(sums, 1, square / 2);
      addTo(sums, 2, weight - square / scale2);

      // Turning the camera by w moves c by c × w, and p·(c × w) = w·(p × c).
      const wxx = xy * cz - xz * cy, wxy = xz * cx - xx * cz, wxz = xx * cy - xy * cx;
      const wyx = yy * cz - yz * cy, wyy = yz * cx - yx * cz, wyz = yx * cy - yy * cx;
      for (let k = 0; k < 5; k++) {
        const turn = turned + 72 + <usize>(24 * k);
        put(jx, k, wxx * at(turn, 0) + wxy * at(turn, 1) + wxz * at(turn, 2));
        put(jy, k, wyx * at(turn, 0) + wyy * at(turn, 1) + wyz * at(turn, 2));
      }
      let next = 5;
      if (focal >= 0) {
        put(jx, next, m * x);
        put(jy, next++, y);
      }
      let power: f64 = 1;
      for (let k = 0; k < radialTerms; k++) {
        power *= s;
        put(jx, next, m * f * u * power);
        put(jy, next++, f * v * power);
      }
      if (middle >= 0) {
        put(jx, next, 1);
        put(jy, next++, 0);
        put(jx, next, 0);
        put(jy, next++, 1);
      }
      if (tangential >= 0) {
        put(jx, next, m * f * (s + 2 * uu));
        put(jy, next++, f * uv2);
        put(jx, next, m * f * uv2);
        put(jy, next, f * (s + 2 * vv));
      }
      const bx0 = xx * tx + xy * ty + xz * tz, bx1 = xx * ax + xy * ay + xz * az;
      const by0 = yx * tx + yy * ty + yz * tz, by1 = yx * ax + yy * ay + yz * az;
      m00 += w * (bx0 * bx0 + by0 * by0);
      m01 += w * (bx0 * bx1 + by0 * by1);
      m11 += w * (bx1 * bx1 + by1 * by1);
      b0 += w * (bx0 * dx + by0 * dy);
      b1 += w * (bx1 * dx + by1 * dy);
      for (let r = 0; r < used; r++) {
        const a = w * at(jx, r), b = w * at(jy, r);
        const row = whole(mine, r);
        addTo(couplings, 2 * row, a * bx0 + b * by0);
        addTo(couplings, 2 * row + 1, a * bx1 + b * by1);
        addTo(right, row, a * dx + b * dy);
        const line = normal + (<usize>(row * size) << 3);
        for (let k = r; k < used; k++) addTo(line, whole(mine, k), a * at(jx, k) + b * at(jy, k));
      }
    }
    chi += cost;

    // The star's own offset is eliminated.
    if (!told) put(shown, g, 1 - (2 * prior) / (m00 + m11));
    const determinant = m00 * m11 - m01 * m01;
    const i00 = m11 / determinant, i01 = -m01 / determinant, i11 = m00 / determinant;
    put(own, 5 * g, b0);
    put(own, 5 * g + 1, b1);
    put(own, 5 * g + 2, i00);
    put(own, 5 * g + 3, i01);
    put(own, 5 * g + 4, i11);
    for (let r = 0; r < size; r++) {
      const a = at(couplings, 2 * r) * i00 + at(couplings, 2 * r + 1) * i01;
      const b = at(couplings, 2 * r) * i01 + at(couplings, 2 * r + 1) * i11;
      if (a === 0 && b === 0) continue;
      addTo(right, r, -(a * b0 + b * b1));
      const line = normal + (<usize>(r * size) << 3);
      for (let k = r; k < size; k++) addTo(line, k, -(a * at(couplings, 2 * k) + b * at(couplings, 2 * k + 1)));
    }
  }
  return chi;
}

/** Updates the stars' own offsets after a step of the shared unknowns. */
export function moveOffsets(stars: i32, size: i32, coupling: usize, own: usize, step: usize, offsets: usize): void {
  for (let g = 0; g < stars; g++) {
    let r0 = at(own, 5 * g), r1 = at(own, 5 * g + 1);
    const couplings = coupling + (<usize>(2 * size * g) << 3);
    for (let r = 0; r < size; r++) {
      r0 -= at(couplings, 2 * r) * at(step, r);
      r1 -= at(couplings, 2 * r + 1) * at(step, r);
    }
    addTo(offsets, 2 * g, at(own, 5 * g + 2) * r0 + at(own, 5 * g + 3) * r1);
    addTo(offsets, 2 * g + 1, at(own, 5 * g + 3) * r0 + at(own, 5 * g + 4) * r1);
  }
}
