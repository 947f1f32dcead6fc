import type { Rotation } from '../geometry/rotation.js';
import { DEGREE } from '../geometry/angle.js';
import { type Vector, dot, unit } from '../geometry/vector.js';
import { CELL_REACH, cellAxes, cellsAround } from '../sky/catalogue/cells.js';
import type { SkyCatalogue, SkyStars } from '../sky/catalogueSky.js';
import { type LocalSky, makeLocalSky } from '../sky/localSky.js';
import { fromIcrs } from './icrsPose.js';
import { type JudgedPose, judgePose } from './judgePose.js';
import type { Lens } from './lens.js';
import { type PairPose, emptyPairPose, poseFromPair } from './pairPose.js';
import { type FrameQuads, makeFrameQuads } from './frameQuads.js';
import { quickLikeQuads } from './kernel/quickLikeQuads.js';
import { HIT_SIDES, HIT_WORDS, type LikeQuads, plainLikeQuads } from './likeQuads.js';
import { type QuickLook, looksRight, makeQuickLook } from './quickLook.js';
import { type QuadChoices, quadChoices } from './quadChoices.js';
import { spotLists } from './searchPose.js';
import { LONGEST, type QuadStars, SHORTEST, chooseQuadStars } from './skyQuads.js';
import { type SkyTrial, skyTrials } from './skyTrials.js';
import { sphereAngles } from './sphereGrid.js';
import type { Spots } from './spots.js';
import { type StarCap, regionStars, starCap, yearsSince2000 } from './starCap.js';
import type { SearchHints } from './trials.js';

/** A pose found anywhere in the sky, with the stars around it: its star numbers are theirs. */
export interface SkyPose extends JudgedPose {
  readonly cap: StarCap;
  /** The sky in whose frame the pose is: without a site where the site's horizon hides that part of it. */
  readonly sky: LocalSky;
}

/** A part of the sky: what is from `from` to `to` (radians) away from a direction (ICRS). */
export interface SkyPart {
  readonly around: Vector;
  readonly from: number;
  readonly to: number;
}

/** The whole sky in four equal parts, nearest to a direction first. */
export function partsFrom(around: Vector): SkyPart[] {
  const edges = [0, 60, 90, 120, 180].map((degrees) => degrees * DEGREE);
  return edges.slice(1).map((to, i) => ({ around, from: edges[i]!, to }));
}

/** Trials that take stars fainter than this need nearly all that the catalogue has. */
const ALL_STARS = 10.5;
/** For wider fields than this (radians) the sky has so few stars that parts of it save nothing. */
const WIDE_FIELD = 4 * DEGREE;
/** Stars between two pauses of the work. */
const BATCH = 2048;
/** Errors of spots' places, pixels: two to three sigmas of faint ones, and what separates a blend from a star. */
const SPOT_ERROR = 1;
/** Stars that a first judgement takes from the catalogue, on the average, and those that the last match does. */
const STARS_TO_JUDGE = 1500;
const STARS_TO_MATCH = 4000;
/** Tycho-2's stars to V 11, and how their number grows with magnitude (logarithm to base 10). */
const STARS_TO_11 = 850_000;
const GROWTH = 0.45;
const WHOLE_SKY = 4 * Math.PI;

/**
 * Looks for the pose of a frame in parts of the sky, one after the other: quads of the stars there are looked up among those
 * of its spots, a few more stars where each hit predicts them discard nearly all, and {@link judgePose} judges the rest
 * against chance over the whole sphere. Field widths 1° to 60°, narrower ones where enough stars to V 11 are in them; any
 * roll, both parities. Yields what it judges, and null every few milliseconds between.
 *
 * @param sky at the frame's time
 */
export function* searchSky(
  spots: Spots, catalogue: SkyCatalogue, sky: LocalSky, hints: SearchHints, parts: readonly SkyPart[],
): Generator<SkyPose | null> {
  if (spots.count < 4) return;
  const choices = quadChoices(spotLists(spots));
  const search: Search = {
    spots, catalogue, sky, below: makeLocalSky(sky.time, null), looks: new Map(),
    like: quickLikeQuads() ?? plainLikeQuads(), pair: emptyPairPose(), lens: new Float64Array(6),
  };
  for (const trials of together(skyTrials(spots.width, spots.height, hints))) {
    const widest = Math.max(...trials.map(({ fieldWidth }) => fieldWidth));
    const faintest = Math.max(...trials.map(faintestFor));
    const whole = widest > WIDE_FIELD && parts.length > 1;
    const frames = new Map<SkyTrial, ReadyFrame>();
    for (const part of whole ? [{ around: parts[0]!.around, from: 0, to: Math.PI }] : parts) {
      const all = catalogue.collect(cellsOf(part, widest), faintest, yearsSince2000(sky.time));
      yield null;
      const angles = sphereAngles(all.directions, all.count);
      yield null;
      for (const trial of trials) {
        const frame = frames.get(trial) ?? makeFrame(search, choices, trial);
        if (!whole) frames.set(trial, frame);
        yield null;
        const chosen = yield* chooseQuadStars(toMagnitude(all, faintestFor(trial)), angles, trial.fieldWidth, trial.wanted);
        // A star beyond the part is in another one.
        yield* searchStars(search, { trial, chosen, ...frame, part: parts.length > 1 && !whole ? part : null });
      }
    }
  }
}

/**
 * Trials one after the other, in groups for which each part's stars are collected once: those of wide fields, and those that need nearly
 * all stars.
 */
function together(trials: readonly SkyTrial[]): SkyTrial[][] {
  const wide = trials.filter(({ fieldWidth }) => fieldWidth > WIDE_FIELD);
  const narrow = trials.filter((trial) => !wide.includes(trial));
  const deep = narrow.filter((trial) => faintestFor(trial) > ALL_STARS);
  const rest = narrow.filter((trial) => !deep.includes(trial)).map((trial) => [trial]);
  return [wide, ...rest, deep].filter((group) => group.length > 0);
}

/** Stars sorted by brightness, down to a magnitude. */
function toMagnitude(stars: SkyStars, faintest: number): SkyStars {
  let count = 0;
  for (let above = stars.count; count < above;) {
    const middle = (count + above) >> 1;
    if (stars.magnitudes[middle]! > faintest) above = middle;
    else count = middle + 1;
  }
  return { ...stars, count };
}

/** Cells of a part of the sky, and those beside it that a field reaches into. */
function cellsOf({ around, from, to }: SkyPart, fieldWidth: number): Int32Array {
  const beyond = CELL_REACH + fieldWidth / 2;
  const nearest = Math.cos(Math.max(0, from - beyond)), farthest = Math.cos(Math.min(Math.PI, to + beyond));
  return cellsAround(around, Math.min(Math.PI, to + beyond)).filter((cell) => {
    const cosine = dot(around, cellAxes(cell).middle);
    return cosine <= nearest && cosine >= farthest;
  });
}

/** Magnitude down to which the sky has three times as many stars as a trial takes, on the average. */
function faintestFor({ fieldWidth, wanted }: SkyTrial): number {
  return magnitudeOf((3 * wanted.starsPerCell * WHOLE_SKY) / (fieldWidth / 2) ** 2);
}

/** Magnitude down to which the whole sky has that many stars; beyond what the catalogue has everywhere, all it has. */
function magnitudeOf(stars: number): number {
  return stars > STARS_TO_11 ? 20 : 11 + Math.log10(stars / STARS_TO_11) / GROWTH;
}

/** One search: the frame, the stars, and the memory that the innermost loop writes to. */
interface Search {
  readonly spots: Spots;
  readonly catalogue: SkyCatalogue;
  readonly sky: LocalSky;
  /** The same without a site. */
  readonly below: LocalSky;
  readonly looks: Map<number, QuickLook>;
  readonly like: LikeQuads;
  readonly pair: PairPose;
  /** The supposed lens in the form that {@link looksRight} takes. */
  readonly lens: Float64Array;
}

/** The frame as a supposed lens shows it. */
interface ReadyFrame {
  readonly look: QuickLook;
  /** Directions of the listed spots in the camera, unmirrored, 3 numbers each. */
  readonly rays: Float64Array;
  readonly quads: FrameQuads;
}

interface ReadyTrial extends ReadyFrame {
  readonly trial: SkyTrial;
  readonly chosen: QuadStars;
  /** Only quads whose faintest star is in it; null: all. */
  readonly part: SkyPart | null;
}

function makeFrame({ spots, looks }: Search, choices: QuadChoices, trial: SkyTrial): ReadyFrame {
  const { lens, lensKnown, fieldWidth, reach, tolerance, blur } = trial;
  const unmirrored = { ...lens, mirrored: false };
  const rays = new Float64Array(3 * choices.spots.length);
  choices.spots.forEach((spot, i) => rays.set(spots.ray(unmirrored, spot), 3 * i));
  let look = looks.get(blur);
  if (!look) looks.set(blur, look = makeQuickLook(spots, Math.max(3, blur * Math.max(spots.width, spots.height))));
  const quads = makeFrameQuads(rays, choices, {
    shortest: (SHORTEST * fieldWidth) / reach, longest: Math.min(0.9, LONGEST * reach) * fieldWidth,
    tolerance, spotError: SPOT_ERROR / lens.focalPixels, parities: lensKnown ? [lens.mirrored] : [false, true],
  });
  return { look, rays, quads };
}

/** Tries the quads of all chosen stars; a pose is yielded at once, since the first that is accepted ends the search. */
function* searchStars(search: Search, ready: ReadyTrial): Generator<SkyPose | null> {
  const { chosen, quads, trial, part } = ready;
  const { grid, directions } = chosen;
  const [x, y, z] = part?.around ?? [0, 0, 1];
  const nearest = part && part.from > 0 ? Math.cos(part.from) : Infinity;
  const farthest = part && part.to < Math.PI ? Math.cos(part.to) : -Infinity;
  const { like } = search;
  like.begin(chosen, quads, trial.reach);
  const { hits, sides } = like;
  const most = trial.mostInCell ?? Infinity;
  let pause = BATCH;
  for (let cell = 0; cell < grid.cells; cell++) {
    const from = grid.start[cell]!, to = grid.start[cell + 1]!;
    if (from === to || to - from > most) continue;
    if (from > pause) {
      pause = from + BATCH;
      yield null;
    }
    like.around(grid.around(cell));
    for (let star = from; star < to; star++) {
      const cosine = x * directions[3 * star]! + y * directions[3 * star + 1]! + z * directions[3 * star + 2]!;
      if (cosine > nearest || cosine <= farthest) continue;
      const count = like.find(star);
      for (let h = 0; h < count; h++) {
        const judged = tryHit(search, ready, sides[HIT_SIDES * h + HIT_SIDES - 1]!, hits, HIT_WORDS * h);
        if (judged) yield judged;
      }
    }
  }
}

/**
 * The pose with which a quad of the frame is one of the sky, judged; null where a few more stars speak against it.
 *
 * @param side chord from A to B on the sky
 * @param at where the hit stands among `hits`
 */
function tryHit(
  search: Search, { trial, chosen, quads, look, rays }: ReadyTrial, side: number, hits: Int32Array, at: number,
): SkyPose | null {
  const { lens, lensKnown } = trial;
  const { pair, lens: supposed } = search;
  const { directions } = chosen;
  const entry = hits[at]!, a = hits[at + 1]!, b = hits[at + 2]!, c = hits[at + 3]!, d = hits[at + 4]!;
  const seen = quads.sides[entry]! / side;
  const ratio = lensKnown ? 1 : seen;
  const p = quads.ends[3 * entry]!, q = quads.ends[3 * entry + 1]!, mirrored = quads.ends[3 * entry + 2] === 1;
  if (!poseFromPair(rays, 3 * p, 3 * q, ratio, mirrored, directions, 3 * a, 3 * b, pair)) return null;
  supposed[0] = lens.focalPixels * ratio;
  supposed[1] = lens.centreX;
  supposed[2] = lens.centreY;
  supposed[3] = (lens.radial[0] ?? 0) * ratio * ratio;
  supposed[4] = (lens.radial[1] ?? 0) * ratio ** 4;
  supposed[5] = mirrored ? 1 : 0;
  if (!looksRight(look, pair.pose, supposed, directions, chosen.companions(a), a, b, c, d)) return null;
  const guess: Lens = lensKnown ? lens : {
    ...lens, focalPixels: lens.focalPixels * ratio, mirrored, radial: lens.radial.map((r, m) => r * ratio ** (2 * m + 2)),
  };
  const near: Vector = [directions[3 * a]!, directions[3 * a + 1]!, directions[3 * a + 2]!];
  return judgeThere(search, Array.from(pair.pose) as unknown as Rotation, guess, !lensKnown, near);
}

/** Judges a pose relative to ICRS with the stars that are there. */
function judgeThere(search: Search, pose: Rotation, lens: Lens, fitFocal: boolean, near: Vector): SkyPose | null {
  const { spots, catalogue } = search;
  const axis: Vector = [pose[2], pose[5], pose[8]];
  const sky = search.sky.site === null || search.sky.toLocal(axis)[2] > 0 ? search.sky : search.below;
  const cap = patchAround(catalogue, sky, axis, spots, lens, STARS_TO_JUDGE);
  const judged = judgePose(spots, cap, fromIcrs(sky, pose), lens, {
    fitFocal, solidAngle: WHOLE_SKY, near: sky.toLocal(near), candidates: null,
  });
  return judged && { ...judged, cap, sky };
}

/** About `most` stars around a direction (ICRS), as far as a frame of that lens can reach. */
function patchAround(catalogue: SkyCatalogue, sky: LocalSky, middle: Vector, spots: Spots, lens: Lens, most: number): StarCap {
  const radius = Math.min(1.4, 1.3 * Math.atan(Math.hypot(spots.width, spots.height) / 2 / lens.focalPixels) + 0.003);
  const faintest = magnitudeOf((2 * most) / (1 - Math.cos(radius)));
  const cap = starCap(regionStars(catalogue, middle, radius, radius, () => faintest, sky.time), sky);
  cap.reveal(Math.PI);
  return cap;
}

/** All stars that a found frame may show: those that the last match is made with. */
export function starsToMatch(catalogue: SkyCatalogue, found: SkyPose, spots: Spots): StarCap {
  const { sky } = found;
  const axis = sky.fromLocal([found.pose[2], found.pose[5], found.pose[8]]);
  return patchAround(catalogue, sky, unit(axis), spots, found.lens, STARS_TO_MATCH);
}
