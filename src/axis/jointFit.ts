import { apply, inverse, orthonormalize, type Rotation } from '../geometry/rotation.js';
import { type Vector, cross, dot } from '../geometry/vector.js';
import { CAUCHY, cauchyCost, toldByWeight } from '../identify/cauchyLoss.js';
import type { Lens } from '../identify/lens.js';
import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';
import { PROJECTION, project } from '../identify/projection.js';
import { type RotatingCamera, axisBasis, poseOf, slipBasis } from './rotatingCamera.js';
import type { Sightings } from './sightings.js';
import { type Layout, type LensChoice, fillRow, frameTurn, layOut, moved } from './unknowns.js';

export interface JointFit extends RotatingCamera {
  /** Covariance (radians²) of the axis along `basis`, from the star errors alone. */
  readonly covariance: readonly [number, number, number, number];
  /** Covariance (radians²) of the axis' direction in the camera, along `slipBasis`: what a later frame inherits. */
  readonly centreCovariance: readonly [number, number, number, number];
  /** Two directions at right angles to the axis: up, then east (as far as the axis allows). */
  readonly basis: readonly [Vector, Vector];
  /** One-sigma error of the slips asked for, radians (the mean of both ways); 0 for the others. */
  readonly slipSigmas: readonly number[];
  /** Robust chi-squared, what it would be on the average if all errors were as said (positive), and the degrees of freedom. */
  readonly chiSquared: number;
  readonly expected: number;
  readonly freedom: number;
  /** Variance of the axis over `covariance`, as the residuals show it: about one where all errors are as said. */
  readonly excess: number;
  /** Root mean square residual in each coordinate of each frame, pixels, outliers left out. */
  readonly rms: readonly number[];
  /** Stars of each frame that took part, outliers left out. */
  readonly used: readonly number[];
  /** Catalogue error found for each star, radians toward the pole and at right angles: a start for the next fit. */
  readonly starOffsets: Float64Array;
}

/** Before the data speak, the principal point is thought to lie this near the centre, share of the width. */
const CENTRE_PRIOR = 0.03;
/** Degrees of freedom that what the star lists say of their errors is worth against smaller ones found. */
const TRUSTED = 100;
const MOST_ITERATIONS = 15;
/** Steps smaller than this end the iteration, radians: 0.001″. */
const SETTLED = 5e-9;

/**
 * One weighted least squares over the star places of all frames: axis (2), pose (3), the turn of each frame but the
 * first, and the lens they share; Cauchy loss. Each star's catalogue error is an unknown of its own, common to its
 * frames and held by its sigma, and is eliminated star by star. Gauss-Newton from a start within some pixels.
 * Returns null where the data do not fix the unknowns.
 */
export function jointFit(
  sightings: Sightings, start: RotatingCamera & { readonly starOffsets?: Float64Array }, choice: LensChoice, width: number,
): JointFit | null {
  const layout = layOut(start.angles.length, choice);
  const { size } = layout;
  if (2 * sightings.count < size + 2) return null;

  let camera: RotatingCamera = { ...start, lens: choice.lensKnown ? start.lens : withTerms(start.lens, choice.radialTerms) };
  const { centreX, centreY } = start.lens;
  const offsets = start.starOffsets?.slice() ?? new Float64Array(2 * sightings.sigma.length);
  const system = emptySystem(size, sightings.sigma.length);
  const holdCentre = (): void => {
    if (layout.centre < 0) return;
    const weight = 1 / (CENTRE_PRIOR * width) ** 2;
    system.normal[layout.centre * (size + 1)]! += weight;
    system.normal[(layout.centre + 1) * (size + 1)]! += weight;
    system.right[layout.centre]! += weight * (centreX - camera.lens.centreX);
    system.right[layout.centre + 1]! += weight * (centreY - camera.lens.centreY);
  };
  for (let iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
    const basis = axisBasis(camera.axis);
    if (!Number.isFinite(accumulate(sightings, camera, basis, offsets, layout, system))) return null;
    holdCentre();
    const step = solveSymmetric(system.normal, system.right, size);
    if (!step) return null;
    moveOffsets(system, step, offsets);
    camera = moved(camera, basis, step, layout);
    if (!(camera.lens.focalPixels > 0)) return null;
    if (Math.hypot(step[0]!, step[1]!) < SETTLED && Math.hypot(step[2]!, step[3]!, step[4]!) < SETTLED) break;
  }
  camera = { ...camera, pose: orthonormalize(camera.pose) };
  const basis = axisBasis(camera.axis);
  const chiSquared = accumulate(sightings, camera, basis, offsets, layout, system, true);
  holdCentre();
  const covariance = invertSymmetric(system.normal, size);
  if (!covariance || !Number.isFinite(chiSquared)) return null;
  return {
    ...camera,
    basis,
    covariance: [covariance[0]!, covariance[1]!, covariance[size]!, covariance[size + 1]!],
    centreCovariance: centreCovariance(camera, basis, covariance, size),
    slipSigmas: layout.slip.map((at) => (at < 0 ? 0 : Math.sqrt((covariance[at * (size + 1)]! + covariance[(at + 1) * (size + 1)]!) / 2))),
    chiSquared,
    expected: expectedCost(sightings, size, system),
    freedom: 2 * sightings.count - size,
    excess: excessOf(sightings, size, system),
    ...frameResiduals(sightings, camera, offsets),
    starOffsets: offsets,
  };
}

/**
 * Covariance of c = poseᵀ·axis from that of axis and pose: tilting the axis by t moves it by poseᵀ·t, turning the pose by w
 * moves it by c × w.
 */
function centreCovariance(
  camera: RotatingCamera, basis: readonly [Vector, Vector], covariance: Float64Array, size: number,
): [number, number, number, number] {
  const toCamera = inverse(camera.pose);
  const c = apply(toCamera, camera.axis);
  const rows = slipBasis(camera).map((e) => [
    dot(e, apply(toCamera, basis[0])), dot(e, apply(toCamera, basis[1])), ...cross(e, c),
  ]);
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 5; i++) for (let j = 0; j < 5; j++) sum += rows[r]![i]! * covariance[i * size + j]! * rows[k]![j]!;
    return sum;
  };
  return [at(0, 0), at(0, 1), at(1, 0), at(1, 1)];
}

/** Normal equations of the shared unknowns, and what each star needs to get its own back once those have moved. */
interface System {
  readonly size: number;
  /** Upper triangle, row by row. */
  readonly normal: Float64Array;
  readonly right: Float64Array;
  /** 2·size numbers a star: its coupling to the shared unknowns. */
  readonly coupling: Float64Array;
  /** 5 numbers a star: its right side (2) and the inverse of its own block (3). */
  readonly own: Float64Array;
  /** Share of a star's catalogue error that its sightings show, 0 to 1: what its own offset takes out of them, a coordinate each. */
  readonly shown: Float64Array;
  /** Sums of the last pass over sightings: weights, squared influence (half, of both coordinates), its slope; over stars: squared offsets. */
  readonly sums: { weight: number; influence: number; slope: number; offset: number };
}

function emptySystem(size: number, stars: number): System {
  return {
    size, normal: new Float64Array(size * size), right: new Float64Array(size),
    coupling: new Float64Array(2 * size * stars), own: new Float64Array(5 * stars), shown: new Float64Array(stars),
    sums: { weight: 0, influence: 0, slope: 0, offset: 0 },
  };
}

/** Variance that residuals of a star's `n` sightings are left with once its own offset is taken out, of what the sightings' sigma says. */
function leftOver(shown: number, n: number): number {
  return Math.max(0, 1 - shown / n);
}

/** The robust chi-squared to be expected: of the offsets, which have no loss, and of the residuals. */
function expectedCost({ first, sigma }: Sightings, size: number, { shown }: System): number {
  let sum = 0;
  for (let g = 0; g < sigma.length; g++) {
    const n = first[g + 1]! - first[g]!;
    sum += 2 * shown[g]! + 2 * n * cauchyCost(leftOver(shown[g]!, n));
  }
  return Math.max(1, sum - size * cauchyCost(1));
}

/**
 * How much larger the errors are than said. Stars far off, mistaken or blended ones, have next to no say under the loss, and hardly
 * count here either, where they would fill chi-squared: the variance of an M-estimator is E psi² / (E psi')², see `toldByWeight`.
 */
function excessOf({ first, sigma, count }: Sightings, size: number, { shown, sums }: System): number {
  let [seen, left] = [0, 0];
  for (let g = 0; g < sigma.length; g++) {
    const n = first[g + 1]! - first[g]!;
    seen += shown[g]!;
    left += n * leftOver(shown[g]!, n);
  }
  const variance = left / count;
  const found = (sums.influence * sums.weight) / sums.slope ** 2 / (1 - Math.min(0.9, size / (2 * count)));
  const ofSightings = variance > 0 ? (found * toldByWeight(variance)) / variance : 1;
  const ofOffsets = seen > 0 ? sums.offset / (2 * seen) : 1;
  const share = seen / count;
  const excess = ofSightings * (1 - share) + ofOffsets * share;
  // Few stars that happen to lie well don't make the answer surer.
  const freedom = Math.max(0, 2 * count - size);
  return excess >= 1 ? excess : (excess * freedom + TRUSTED) / (freedom + TRUSTED);
}

/**
 * One pass over all stars: builds the normal equations of the shared unknowns with the stars' own eliminated; with `told` as the
 * information that the sightings give, which is more than their weights (after a pass without). Returns the robust chi-squared, NaN
 * where a star falls behind the camera.
 */
function accumulate(
  sightings: Sightings, camera: RotatingCamera, basis: readonly [Vector, Vector], offsets: Float64Array, layout: Layout, system: System, told = false,
): number {
  const { size, normal, right, coupling, own, shown, sums } = system;
  normal.fill(0);
  right.fill(0);
  coupling.fill(0);
  Object.assign(sums, { weight: 0, influence: 0, slope: 0, offset: 0 });
  const p = new Float64Array(PROJECTION.length);
  const jx = new Float64Array(size);
  const jy = new Float64Array(size);
  const c = new Float64Array(3);
  const c1 = new Float64Array(3);
  const c2 = new Float64Array(3);
  const slips = slipBasis(camera);
  const turns = camera.angles.map((_, frame) => frameTurn(camera, basis, slips, frame));
  let chi = 0;
  for (let g = 0; g < sightings.sigma.length; g++) {
    const prior = 1 / sightings.sigma[g]! ** 2;
    const ox = offsets[2 * g]!, oy = offsets[2 * g + 1]!;
    const at = 2 * size * g;
    let m00 = prior, m01 = 0, m11 = prior, b0 = -prior * ox, b1 = -prior * oy;
    chi += prior * (ox * ox + oy * oy);
    sums.offset += prior * (ox * ox + oy * oy);
    const gain = told ? toldByWeight(leftOver(shown[g]!, sightings.first[g + 1]! - sightings.first[g]!)) : 1;
    for (let n = sightings.first[g]!; n < sightings.first[g + 1]!; n++) {
      const frame = sightings.frame[n]!;
      const turn = turns[frame]!;
      turnInto(turn.toCamera, sightings.vectors, 9 * n + 3, c1);
      turnInto(turn.toCamera, sightings.vectors, 9 * n + 6, c2);
      turnInto(turn.toCamera, sightings.vectors, 9 * n, c);
      for (let k = 0; k < 3; k++) c[k]! += ox * c1[k]! + oy * c2[k]!;
      if (!project(camera.lens, c[0]!, c[1]!, c[2]!, p)) return NaN;
      const dx = sightings.seen[3 * n]! - p[0]!;
      const dy = sightings.seen[3 * n + 1]! - p[1]!;
      const s2 = sightings.seen[3 * n + 2]!;
      const q = (dx * dx + dy * dy) / s2 / CAUCHY.scale ** 2;
      const w = gain / s2 / (1 + q);
      chi += CAUCHY.scale ** 2 * Math.log1p(q);
      const weight = 1 / (1 + q);
      const square = q * CAUCHY.scale ** 2 * weight * weight;
      sums.weight += weight;
      sums.influence += square / 2;
      sums.slope += weight - square / CAUCHY.scale ** 2;

      fillRow(jx, p, 0, c, turn, frame, layout);
      fillRow(jy, p, 1, c, turn, frame, layout);
      const bx0 = along(p, 2, c1), bx1 = along(p, 2, c2), by0 = along(p, 5, c1), by1 = along(p, 5, c2);
      m00 += w * (bx0 * bx0 + by0 * by0);
      m01 += w * (bx0 * bx1 + by0 * by1);
      m11 += w * (bx1 * bx1 + by1 * by1);
      b0 += w * (bx0 * dx + by0 * dy);
      b1 += w * (bx1 * dx + by1 * dy);
      for (let r = 0; r < size; r++) {
        const x = w * jx[r]!, y = w * jy[r]!;
        if (x === 0 && y === 0) continue;
        coupling[at + 2 * r]! += x * bx0 + y * by0;
        coupling[at + 2 * r + 1]! += x * bx1 + y * by1;
        right[r]! += x * dx + y * dy;
        for (let k = r; k < size; k++) normal[r * size + k]! += x * jx[k]! + y * jy[k]!;
      }
    }
    if (!told) shown[g] = 1 - (2 * prior) / (m00 + m11);
    const determinant = m00 * m11 - m01 * m01;
    const i00 = m11 / determinant, i01 = -m01 / determinant, i11 = m00 / determinant;
    own[5 * g] = b0;
    own[5 * g + 1] = b1;
    own[5 * g + 2] = i00;
    own[5 * g + 3] = i01;
    own[5 * g + 4] = i11;
    for (let r = 0; r < size; r++) {
      const u = coupling[at + 2 * r]! * i00 + coupling[at + 2 * r + 1]! * i01;
      const v = coupling[at + 2 * r]! * i01 + coupling[at + 2 * r + 1]! * i11;
      if (u === 0 && v === 0) continue;
      right[r]! -= u * b0 + v * b1;
      for (let k = r; k < size; k++) normal[r * size + k]! -= u * coupling[at + 2 * k]! + v * coupling[at + 2 * k + 1]!;
    }
  }
  return chi;
}

/** Moves the stars' own offsets by what a step of the shared unknowns leaves for them. */
function moveOffsets({ size, coupling, own }: System, step: Float64Array, offsets: Float64Array): void {
  for (let g = 0; g < offsets.length / 2; g++) {
    let r0 = own[5 * g]!, r1 = own[5 * g + 1]!;
    for (let r = 0; r < size; r++) {
      r0 -= coupling[2 * (size * g + r)]! * step[r]!;
      r1 -= coupling[2 * (size * g + r) + 1]! * step[r]!;
    }
    offsets[2 * g]! += own[5 * g + 2]! * r0 + own[5 * g + 3]! * r1;
    offsets[2 * g + 1]! += own[5 * g + 3]! * r0 + own[5 * g + 4]! * r1;
  }
}

function turnInto(r: Rotation, from: Float64Array, at: number, out: Float64Array): void {
  const x = from[at]!, y = from[at + 1]!, z = from[at + 2]!;
  out[0] = r[0] * x + r[1] * y + r[2] * z;
  out[1] = r[3] * x + r[4] * y + r[5] * z;
  out[2] = r[6] * x + r[7] * y + r[8] * z;
}

function along(p: Float64Array, at: number, v: Float64Array): number {
  return p[at]! * v[0]! + p[at + 1]! * v[1]! + p[at + 2]! * v[2]!;
}

function withTerms(lens: Lens, terms: number): Lens {
  return { ...lens, radial: Array.from({ length: terms }, (_, k) => lens.radial[k] ?? 0) };
}

function frameResiduals(sightings: Sightings, camera: RotatingCamera, offsets: Float64Array): { rms: number[]; used: number[] } {
  const p = new Float64Array(PROJECTION.length);
  const sum = camera.angles.map(() => 0);
  const used = camera.angles.map(() => 0);
  const toCamera = camera.angles.map((_, frame) => inverse(poseOf(camera, frame)));
  const { vectors, seen } = sightings;
  for (let g = 0; g < sightings.sigma.length; g++) {
    for (let n = sightings.first[g]!; n < sightings.first[g + 1]!; n++) {
      const frame = sightings.frame[n]!;
      const d = [0, 1, 2].map((k) => vectors[9 * n + k]! + offsets[2 * g]! * vectors[9 * n + 3 + k]! + offsets[2 * g + 1]! * vectors[9 * n + 6 + k]!);
      const c = apply(toCamera[frame]!, d as unknown as Vector);
      if (!project(camera.lens, c[0], c[1], c[2], p)) continue;
      const q = (seen[3 * n]! - p[0]!) ** 2 + (seen[3 * n + 1]! - p[1]!) ** 2;
      if (q > 25 * seen[3 * n + 2]!) continue;
      sum[frame]! += q;
      used[frame]!++;
    }
  }
  return { rms: sum.map((s, i) => Math.sqrt(s / Math.max(1, 2 * used[i]!))), used };
}
