import { DEGREE } from '../geometry/angle.js';
import type { Lens } from './lens.js';
import type { QuadsWanted } from './skyQuads.js';
import { type SearchHints, fieldWidthDeg } from './trials.js';

/** One assumption about the lens, for a search of the whole sky. */
export interface SkyTrial {
  readonly lens: Lens;
  readonly lensKnown: boolean;
  /** Width of the field for which stars and quads are chosen, radians. */
  readonly fieldWidth: number;
  /** Focal lengths from lens.focalPixels / reach to lens.focalPixels · reach are found. */
  readonly reach: number;
  /** By how much the places of a quad's description may differ (its A and B are 2 apart), in addition to the errors of spots. */
  readonly tolerance: number;
  /** How far from its spot a star may be predicted at first, in widths of the picture. */
  readonly blur: number;
  readonly wanted: QuadsWanted;
  /** Only where a cell of half a field's width holds no more stars than this; absent: everywhere. */
  readonly mostInCell?: number;
}

/** For wider fields the focal length must be nearly right beforehand: the picture is no longer similar to the sky. */
const FLAT_DEG = 9;
/** A width between two others, for where stars are so few that their quads leave too much between them. */
const SPARSE_DEG = 1.34;
const SPARSE = { mostInCell: 9 } as const;
/** Field widths that are tried, degrees, wide ones first: they have few stars and are fast. */
const WIDE_DEG = [58, 47, 38, 30, 24, 19, 15, 12] as const;
const NARROW_DEG = [8.6, 5, 2.95, 1.75, SPARSE_DEG, 1.03] as const;
const WIDE = { reach: 1.18, tolerance: 0.03, blur: 0.012, wanted: { starsPerCell: 24, tried: 1_500_000 } } as const;
const NARROW = { reach: 1.36, tolerance: 0.006, blur: 0.006, wanted: { starsPerCell: 12, tried: 2_500_000 } } as const;
/** With one width to try there is time for more. */
const HINTED = { reach: 1.15, wanted: { starsPerCell: 24, tried: 3_000_000 } } as const;

/** The assumptions about the lens, in order: from the hints, or every width of the field. */
export function skyTrials(width: number, height: number, hints: SearchHints): SkyTrial[] {
  const size = Math.max(width, height);
  const supposed = (focalPixels: number): Lens =>
    ({ focalPixels, centreX: (width - 1) / 2, centreY: (height - 1) / 2, radial: [], mirrored: false });
  const at = (lens: Lens, more: Partial<SkyTrial>): SkyTrial => {
    const degrees = fieldWidthDeg(lens, width, height);
    return { lens, lensKnown: false, fieldWidth: degrees * DEGREE, ...(degrees > FLAT_DEG ? WIDE : NARROW), ...more };
  };
  if (hints.lens) return [at(hints.lens, { ...HINTED, lensKnown: true, reach: 1.02, tolerance: 0.006 })];
  if (hints.focalPixels !== undefined) return [at(supposed(hints.focalPixels), HINTED)];
  const fields = hints.fields === 'wide' ? WIDE_DEG : hints.fields === 'narrow' ? NARROW_DEG : [...WIDE_DEG, ...NARROW_DEG];
  return fields.map((degrees) =>
    at(supposed(size / 2 / Math.tan((degrees * DEGREE) / 2)), degrees === SPARSE_DEG ? SPARSE : {}));
}
