import { CAUCHY, toldByWeight } from '../identify/cauchyLoss.js';
import type { Lens } from '../identify/lens.js';
import { PROJECTION, project } from '../identify/projection.js';
import { type FrameTurns, type Frames, type Layout, type MountModel, frameTurns } from './mountModel.js';
import type { Sightings } from './sightings.js';

/** Where each of a pass' sums stands. */
export const SUM = { weight: 0, influence: 1, slope: 2, offset: 3, length: 4 } as const;

/**
 * Passes over all stars of a joint fit, and the memory that they share: the normal equations of the shared unknowns, and what each star
 * needs to get its own unknowns back after a step.
 */
export interface StarPass {
  readonly size: number;
  /** Upper triangle, row by row. */
  readonly normal: Float64Array;
  readonly right: Float64Array;
  /**
   * Share of a star's catalogue error that its sightings determine, 0 to 1: the degrees of freedom of its own offset in each coordinate.
   */
  readonly shown: Float64Array;
  /**
   * Sums of the last pass (places: `SUM`), over sightings: weights, squared influence (half, of both coordinates), its slope; over stars:
   * squared offsets.
   */
  readonly sums: Float64Array;
  /** Of each star: its catalogue error as fitted, radians toward the pole and at right angles to it. */
  readonly offsets: Float64Array;
  /**
   * Builds the normal equations of the shared unknowns with the stars' own eliminated; with `told`, with the information of the sightings,
   * which exceeds their weights (after a pass without). Returns the robust chi-squared, NaN where a star falls behind the camera.
   */
  run(model: MountModel, bases: Frames, told?: boolean): number;
  /** Moves the stars' own offsets after a step of the shared unknowns. */
  moveOffsets(step: Float64Array): void;
}

/** The arrays of a pass in JavaScript. */
interface System extends Omit<StarPass, 'run' | 'moveOffsets'> {
  /** 2·size numbers a star: its coupling to the shared unknowns. */
  readonly coupling: Float64Array;
  /** 5 numbers a star: its right side (2) and the inverse of its own block (3). */
  readonly own: Float64Array;
}

/** Passes in JavaScript. */
export function plainStarPass(sightings: Sightings, layout: Layout, offsets: Float64Array): StarPass {
  const { size } = layout;
  const stars = sightings.sigma.length;
  const system: System = {
    size, normal: new Float64Array(size * size), right: new Float64Array(size),
    coupling: new Float64Array(2 * size * stars), own: new Float64Array(5 * stars), shown: new Float64Array(stars),
    sums: new Float64Array(SUM.length), offsets: offsets.slice(),
  };
  return {
    ...system,
    run: (model, bases, told = false) => accumulate(sightings, model, bases, layout, system, told),
    moveOffsets(step) { moveOffsets(system, step); },
  };
}

/** Expected variance of the residuals of a star's `n` sightings once its own offset is fitted, relative to the sightings' sigma. */
export function leftOver(shown: number, n: number): number {
  return Math.max(0, 1 - shown / n);
}

/** `run` of a pass in JavaScript. */
function accumulate(
  sightings: Sightings, model: MountModel, bases: Frames, layout: Layout, system: System, told: boolean,
): number {
  const { normal, right, coupling, shown, sums, offsets } = system;
  normal.fill(0);
  right.fill(0);
  coupling.fill(0);
  sums.fill(0);
  const frames = model.poses.map((_, frame) => frameTurns(model, bases, layout, frame));
  const scratch = emptyScratch(frames);
  // Objects made in one way, whatever they come from: the engine would compile the loop anew for each other way.
  const { count, frame, first, sigma, blended, vectors, seen } = sightings;
  const stars: Sightings = { count, frame, first, sigma, blended, vectors, seen };
  const { focalPixels, centreX, centreY, radial, mirrored, tangential } = model.lens;
  const lens: Lens = { focalPixels, centreX, centreY, radial, mirrored, tangential: tangential ?? [0, 0] };
  let chi = 0;
  for (let g = 0; g < sigma.length; g++) {
    const gain = told ? toldByWeight(leftOver(shown[g]!, first[g + 1]! - first[g]!)) : 1;
    const cost = addStar(g, stars, lens, frames, offsets, layout, system, scratch, gain);
    if (cost !== cost) return NaN;
    chi += cost;
    eliminateStar(g, system, scratch, 1 / (sigma[g]! * sigma[g]!), told);
  }
  return chi;
}

/** The buffers of one star's pass, so that passes allocate nothing. */
interface Scratch {
  readonly projected: Float64Array;
  readonly direction: Float64Array;
  readonly toPole: Float64Array;
  readonly across: Float64Array;
  readonly jx: Float64Array;
  readonly jy: Float64Array;
  /** The star's own block of the normal equations (3) and its right side (2). */
  readonly own: Float64Array;
}

function emptyScratch(frames: readonly FrameTurns[]): Scratch {
  const most = Math.max(...frames.map((f) => f.unknowns.length));
  return {
    projected: new Float64Array(PROJECTION.length), direction: new Float64Array(3), toPole: new Float64Array(3),
    across: new Float64Array(3),
    jx: new Float64Array(most), jy: new Float64Array(most), own: new Float64Array(5),
  };
}

/** Adds all sightings of star `g`; returns the cost of their residuals and its offset, NaN where it falls behind the camera. */
function addStar(
  g: number, { sigma, first, frame, vectors, seen }: Sightings, lens: Lens, frames: readonly FrameTurns[], offsets: Float64Array,
  layout: Layout, { size, normal, right, coupling, sums }: System, scratch: Scratch, gain: number,
): number {
  const { projected: p, direction: c, toPole, across, jx, jy, own } = scratch;
  const prior = 1 / (sigma[g]! * sigma[g]!);
  const ox = offsets[2 * g]!, oy = offsets[2 * g + 1]!;
  const offsetCost = prior * (ox * ox + oy * oy);
  let m00 = prior, m01 = 0, m11 = prior, b0 = -prior * ox, b1 = -prior * oy, cost = offsetCost;
  sums[SUM.offset]! += offsetCost;
  for (let n = first[g]!; n < first[g + 1]!; n++) {
    const { toCamera, turns, unknowns } = frames[frame[n]!]!;
    turnInto(toCamera, vectors, 9 * n + 3, toPole);
    turnInto(toCamera, vectors, 9 * n + 6, across);
    turnInto(toCamera, vectors, 9 * n, c);
    for (let k = 0; k < 3; k++) c[k]! += ox * toPole[k]! + oy * across[k]!;
    if (!project(lens, c[0]!, c[1]!, c[2]!, p)) return NaN;
    const dx = seen[3 * n]! - p[0]!;
    const dy = seen[3 * n + 1]! - p[1]!;
    const s2 = seen[3 * n + 2]!;
    const q = (dx * dx + dy * dy) / s2 / CAUCHY.scale ** 2;
    const weight = 1 / (1 + q);
    const w = (gain / s2) * weight;
    cost += CAUCHY.scale ** 2 * Math.log1p(q);
    const square = q * CAUCHY.scale ** 2 * weight * weight;
    sums[SUM.weight]! += weight;
    sums[SUM.influence]! += square / 2;
    sums[SUM.slope]! += weight - square / CAUCHY.scale ** 2;

    fillRow(jx, p, 0, c, turns, layout);
    fillRow(jy, p, 1, c, turns, layout);
    const bx0 = along(p, 2, toPole), bx1 = along(p, 2, across), by0 = along(p, 5, toPole), by1 = along(p, 5, across);
    m00 += w * (bx0 * bx0 + by0 * by0);
    m01 += w * (bx0 * bx1 + by0 * by1);
    m11 += w * (bx1 * bx1 + by1 * by1);
    b0 += w * (bx0 * dx + by0 * dy);
    b1 += w * (bx1 * dx + by1 * dy);
    const at = 2 * size * g;
    for (let r = 0; r < unknowns.length; r++) {
      const x = w * jx[r]!, y = w * jy[r]!;
      const row = unknowns[r]!;
      coupling[at + 2 * row]! += x * bx0 + y * by0;
      coupling[at + 2 * row + 1]! += x * bx1 + y * by1;
      right[row]! += x * dx + y * dy;
      for (let k = r; k < unknowns.length; k++) normal[row * size + unknowns[k]!]! += x * jx[k]! + y * jy[k]!;
    }
  }
  own.set([m00, m01, m11, b0, b1]);
  return cost;
}

/** Eliminates the star's own offset from the normal equations. */
function eliminateStar(
  g: number, { size, normal, right, coupling, own, shown }: System, { own: block }: Scratch, prior: number, told: boolean,
): void {
  const [m00, m01, m11, b0, b1] = [block[0]!, block[1]!, block[2]!, block[3]!, block[4]!];
  const at = 2 * size * g;
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

/** One row of the Jacobian: the derivatives of x (half 0) or y (half 1) with respect to the unknowns of its frame, in their order. */
function fillRow(j: Float64Array, p: Float64Array, half: number, c: Float64Array, turns: Float64Array, layout: Layout): void {
  const at = 2 + 3 * half;
  const px = p[at]!, py = p[at + 1]!, pz = p[at + 2]!;
  const x = c[0]!, y = c[1]!, z = c[2]!;
  // Turning the camera by w moves c by c × w, and p·(c × w) = w·(p × c).
  const wx = py * z - pz * y, wy = pz * x - px * z, wz = px * y - py * x;
  for (let k = 0; k < 5; k++) j[k] = wx * turns[3 * k]! + wy * turns[3 * k + 1]! + wz * turns[3 * k + 2]!;
  let next = 5;
  if (layout.focal >= 0) j[next++] = p[PROJECTION.xByFocal + half]!;
  for (let k = 0; k < layout.radialTerms; k++) j[next++] = p[PROJECTION.byRadial + 2 * k + half]!;
  if (layout.middle >= 0) {
    j[next++] = half === 0 ? 1 : 0;
    j[next++] = half;
  }
  if (layout.tangential >= 0) {
    j[next] = p[PROJECTION.byTangential + half]!;
    j[next + 1] = p[PROJECTION.byTangential + 2 + half]!;
  }
}

/** Updates the stars' own offsets after a step of the shared unknowns. */
function moveOffsets({ size, coupling, own, offsets }: System, step: Float64Array): void {
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

function turnInto(r: FrameTurns['toCamera'], from: Float64Array, at: number, out: Float64Array): void {
  const x = from[at]!, y = from[at + 1]!, z = from[at + 2]!;
  out[0] = r[0] * x + r[1] * y + r[2] * z;
  out[1] = r[3] * x + r[4] * y + r[5] * z;
  out[2] = r[6] * x + r[7] * y + r[8] * z;
}

function along(p: Float64Array, at: number, v: Float64Array): number {
  return p[at]! * v[0]! + p[at + 1]! * v[1]! + p[at + 2]! * v[2]!;
}
