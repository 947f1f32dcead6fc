import { DEGREE } from '../geometry/angle.js';
import type { Lens } from './lens.js';

/** What is known beforehand. Nothing here is required; right values make the search faster. */
export interface SearchHints {
  /** Focal length in pixels, from the header or the person: tried first, then every other. */
  readonly focalPixels?: number;
  /** The lens that another frame of the same camera gave: then only the pose is searched. */
  readonly lens?: Lens;
  /** Only these values are tried: no other focal length. */
  readonly only?: boolean;
  /** Of unknown focal lengths only those are tried that make a narrow field (up to some 12°), or a wide one. */
  readonly fields?: 'narrow' | 'wide';
  /** A field has few catalogue stars: larger triangles than usual are tried, too. */
  readonly sparse?: boolean;
  /** So near to the middle of the cap (radians) frames were looked for already. */
  readonly searched?: number;
}

/** One assumption about the lens and the camera's direction. */
export interface Trial {
  readonly lens: Lens;
  readonly lensKnown: boolean;
  /** Focal lengths from lens.focalPixels / reach to lens.focalPixels · reach are found. */
  readonly reach: number;
  /** Distance from the middle of the cap within which the frame's centre is searched, radians. */
  readonly distance: number;
  /** By how much side ratios may differ beyond the effect of the centroids' errors. */
  readonly tolerance: number;
  /** Only for few spots: triangles are larger than usual by this factor, since few stars are rarely close together. */
  readonly larger?: number;
}

/** Trials that belong together: each list of spots is tried with all of them before the next list. */
export type TrialGroup = readonly Trial[];

/** Field widths (degrees, longer side) that are searched. */
const NARROWEST_DEG = 0.4;
const WIDEST_DEG = 70;
/** Wider than this the picture is no longer similar to the sky, so that the focal length must be nearly right beforehand. */
const FLAT_DEG = 9;
/** Distances from the pole, or from where a frame is said to be, degrees, that are tried first: most people point well. */
const NEAR = [1.5, 5] as const;
/** Distortion at the corner, relative. */
const DISTORTIONS = [0, -0.05, 0.05, -0.1, 0.1] as const;
const FLAT_TOLERANCE = 0.003;
const WIDE_TOLERANCE = 0.012;

/** Width of the field in degrees, along the longer side. */
export function fieldWidthDeg(lens: Lens, width: number, height: number): number {
  return (2 / DEGREE) * Math.atan(Math.max(width, height) / 2 / lens.focalPixels);
}

/**
 * The trials, the most promising first: the hinted scale before others, near the middle of the cap before far away.
 *
 * @param farthest distance from there within which frames are searched, radians
 */
export function trialGroups(width: number, height: number, hints: SearchHints, farthest: number): TrialGroup[] {
  const far = farthest / DEGREE;
  const searched = (hints.searched ?? 0) / DEGREE;
  const near = NEAR.filter((distance) => distance > searched && distance < far);
  const size = Math.max(width, height);
  const corner = Math.hypot(width, height) / 2;
  const focal = (fieldDeg: number): number => size / 2 / Math.tan((fieldDeg * DEGREE) / 2);
  const supposed = (focalPixels: number, distortion: number): Lens => ({
    focalPixels, centreX: (width - 1) / 2, centreY: (height - 1) / 2, mirrored: false,
    radial: distortion === 0 ? [] : [distortion / (corner / focalPixels) ** 2],
  });
  const make = (focalPixels: number, reach: number, distance: number, tolerance: number, distortion = 0): Trial =>
    ({ lens: supposed(focalPixels, distortion), lensKnown: false, reach, distance: distance * DEGREE, tolerance });

  if (hints.lens) {
    const lens = hints.lens;
    const tolerance = fieldWidthDeg(lens, width, height) > FLAT_DEG ? 0.005 : 0.0025;
    const usual = [...near, far].map((distance): Trial => ({ lens, lensKnown: true, reach: 1.02, distance: distance * DEGREE, tolerance }));
    return [hints.sparse ? [...usual, ...larger(usual)] : usual];
  }
  const groups: TrialGroup[] = [];
  const hint = hints.focalPixels;
  if (hint !== undefined && hint <= focal(NARROWEST_DEG) && hint >= focal(WIDEST_DEG)) {
    const wide = fieldWidthDeg(supposed(hint, 0), width, height) > FLAT_DEG;
    if (wide) groups.push(DISTORTIONS.map((d) => make(hint, 1.08, far, WIDE_TOLERANCE, d)));
    else {
      const usual = [...near, far].map((distance) => make(hint, 1.12, distance, FLAT_TOLERANCE));
      groups.push([...usual, ...larger(usual)]);
    }
  }
  if (hints.only) return groups;
  const flat: number[] = [];
  for (let f = NARROWEST_DEG * Math.SQRT2; f < FLAT_DEG * 1.2; f *= 2) flat.push(f);
  const wide = WIDE_FIELDS_DEG.flatMap((f) => DISTORTIONS.map((d) => ({ f, d })));
  const curved = (distorted: boolean): Trial[] => wide.filter(({ d }) => (d !== 0) === distorted)
    .map(({ f, d }) => make(focal(f), f < 24 ? 1.18 : 1.12, far, WIDE_TOLERANCE, d));
  groups.push([
    ...near.flatMap((distance) => flat.map((f) => make(focal(f), 1.7, distance, FLAT_TOLERANCE))),
    ...(hints.fields === 'narrow' ? [] : curved(false)),
    ...flat.map((f) => make(focal(f), 1.7, far, FLAT_TOLERANCE)),
    ...(hints.fields === 'narrow' ? [] : curved(true)),
  ]);
  return groups;
}

function larger(trials: readonly Trial[]): Trial[] {
  return trials.map((trial) => ({ ...trial, larger: LARGER }));
}

const LARGER = 1.8;

/** Steps small enough that the shape of triangles half-way to the corner changes by little more than the tolerance. */
const WIDE_FIELDS_DEG = [11, 15, 20, 26, 32, 39, 47, 55, 63] as const;
