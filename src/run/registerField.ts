import { median } from '../numeric/median.js';
import { type FieldMatch, type Place, matchFields, matchNear } from './matchFields.js';
import { type PlaneFit, fitPlane } from './planeFit.js';

/** Stars of one frame that belong to the common field. */
export interface FrameOnField {
  /** Numbers in the field's template. */
  readonly star: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Of each coordinate, pixels. */
  readonly sigma: Float64Array;
  /** The map from the template to the frame, about the picture's middle. */
  readonly fit: PlaneFit;
}

/** One field of stars as seen in several frames. */
export interface RegisteredField {
  readonly width: number;
  readonly height: number;
  /** The frame whose pixels the template uses. */
  readonly reference: number;
  /** The position of each star in the reference frame, from the mean of all frames, pixels. */
  readonly template: { readonly x: Float64Array; readonly y: Float64Array };
  /** Null for a frame that shares no stars with the others. */
  readonly frames: readonly (FrameOnField | null)[];
}

/** Number of frames tried as reference, those with most stars first. */
const MOST_REFERENCES = 3;
/** The most stars of a frame that are used. */
const MOST_STARS = 500;

/**
 * Registers frames of one star field on each other without a catalogue. The frame with most stars is the reference, unless half of the
 * others share no stars with it. Its star positions are then replaced by the mean over all frames, so that its own errors do not affect the
 * comparison with every other frame.
 *
 * @param frames stars of each, brightest first, pixels
 * @returns null where no two frames share stars
 */
export function registerField(frames: readonly (readonly Place[])[], width: number, height: number): RegisteredField | null {
  const lists = frames.map((stars) => stars.slice(0, MOST_STARS));
  const order = lists.map((_, i) => i).sort((i, k) => lists[k]!.length - lists[i]!.length || i - k);
  let best: { reference: number; matches: (FieldMatch | null)[]; matched: number } | null = null;
  // Cloud may leave most stars in a frame outside the others' field: then the next is tried.
  for (const reference of order.slice(0, MOST_REFERENCES)) {
    const matches = matchesWith(lists, reference, width, height);
    const matched = matches.filter((m) => m !== null).length;
    if (!best || matched > best.matched) best = { reference, matches, matched };
    if (2 * (matched - 1) >= frames.length - 1) break;
  }
  return best && best.matched > 1 ? refine(lists, best.reference, best.matches, width, height) : null;
}

function matchesWith(lists: readonly (readonly Place[])[], reference: number, width: number, height: number): (FieldMatch | null)[] {
  const from = lists[reference]!;
  let last: FieldMatch | null = null;
  return lists.map((to, i) => {
    if (i === reference) return itself(from, width, height);
    // The frame before is a good start: tracked frames nearly coincide.
    const near = last && matchNear(from, to, rigid(last.fit), width, height);
    const enough = near && near.from.length >= Math.max(8, 0.4 * Math.min(from.length, to.length));
    const match = enough ? near : matchFields(from, to, width, height);
    if (match) last = match;
    return match;
  });
}

function itself(stars: readonly Place[], width: number, height: number): FieldMatch | null {
  return matchNear(stars, stars, { cosine: 1, sine: 0, shiftX: 0, shiftY: 0 }, width, height);
}

function rigid(fit: PlaneFit): { cosine: number; sine: number; shiftX: number; shiftY: number } {
  return { cosine: Math.cos(fit.rotation), sine: Math.sin(fit.rotation), shiftX: fit.shiftX, shiftY: fit.shiftY };
}

const ROUNDS = 3;

function refine(
  lists: readonly (readonly Place[])[], reference: number, matches: readonly (FieldMatch | null)[], width: number, height: number,
): RegisteredField {
  const centre = { x: (width - 1) / 2, y: (height - 1) / 2 };
  const start = lists[reference]!;
  const x = Float64Array.from(start, (s) => s.x), y = Float64Array.from(start, (s) => s.y);
  const sightings = new Int32Array(start.length);
  for (const match of matches) match?.from.forEach((k) => { sightings[k]!++; });
  let frames: (FrameOnField | null)[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    frames = matches.map((match, i) => match && onField(lists[i]!, match, { x, y }, sightings, centre));
    if (round === ROUNDS - 1) break;
    const sum = { x: new Float64Array(start.length), y: new Float64Array(start.length), weight: new Float64Array(start.length) };
    // At first the reference agrees with itself: that must not give it more weight.
    const wander = median(frames.flatMap((f, i) => (f && i !== reference ? [f.fit.wander] : [])));
    for (const frame of frames) {
      if (!frame) continue;
      const { fit } = frame;
      const [a, b, c, d] = fit.matrix;
      const determinant = a * d - b * c;
      frame.star.forEach((k, n) => {
        const weight = fit.trust[n]! / (frame.sigma[n]! ** 2 + wander ** 2);
        const u = frame.x[n]! - centre.x - fit.shiftX, v = frame.y[n]! - centre.y - fit.shiftY;
        sum.x[k]! += weight * (centre.x + (d * u - b * v) / determinant);
        sum.y[k]! += weight * (centre.y + (a * v - c * u) / determinant);
        sum.weight[k]! += weight;
      });
    }
    for (let k = 0; k < start.length; k++) {
      if (!(sum.weight[k]! > 0)) continue;
      x[k] = sum.x[k]! / sum.weight[k]!;
      y[k] = sum.y[k]! / sum.weight[k]!;
    }
  }
  return { width, height, reference, template: { x, y }, frames };
}

/** The frame's stars that some other frame has too, and the map to them. */
function onField(
  stars: readonly Place[], match: FieldMatch, template: RegisteredField['template'], sightings: Int32Array,
  centre: { x: number; y: number },
): FrameOnField | null {
  const shared = [...match.from.keys()].filter((n) => sightings[match.from[n]!]! > 1);
  const star = Int32Array.from(shared, (n) => match.from[n]!);
  const seen = shared.map((n) => stars[match.to[n]!]!);
  const x = Float64Array.from(seen, (s) => s.x), y = Float64Array.from(seen, (s) => s.y);
  const sigma = Float64Array.from(seen, (s) => s.sigma);
  const fit = fitPlane({
    fromX: Float64Array.from(star, (k) => template.x[k]!), fromY: Float64Array.from(star, (k) => template.y[k]!), toX: x, toY: y, sigma,
  }, centre, freedomLeft(star, sightings));
  return fit && { star, x, y, sigma, fit };
}

/** Share of a residual's variance that is left where the template is the mean of this many sightings. */
export function freedomLeft(star: Int32Array, sightings: Int32Array): number {
  let sum = 0;
  for (const k of star) sum += 1 - 1 / sightings[k]!;
  return star.length > 0 ? sum / star.length : 1;
}

/** In how many frames each star of the template was seen. */
export function sightingsOf(field: RegisteredField): Int32Array {
  const sightings = new Int32Array(field.template.x.length);
  for (const frame of field.frames) frame?.star.forEach((k) => { sightings[k]!++; });
  return sightings;
}
