import { type Aim, aimedPole } from '../axis/aim.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../geometry/angle.js';
import { apply, inverse } from '../geometry/rotation.js';
import { type Vector, angleBetween, cross, scale, unit } from '../geometry/vector.js';
import { toDirection } from '../identify/lens.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import type { DialTurn } from './knobDial.js';
import { type KnobMove, knobMove } from './knobMove.js';
import { type Place, type Point, type SensorView, headingTo, middleDirection, onSensor, pixelOf, placeOf } from './onSensor.js';

/** A star that was recognised in the frame. */
export interface SeenStar {
  readonly x: number;
  readonly y: number;
  readonly magnitude: number;
  /** Apparent local direction, length 1. */
  readonly direction: Vector;
  /** Null if it has none. */
  readonly name: string | null;
}

/** A frame and what was found in it. */
export interface SeenFrame extends SensorView {
  /** Its name as it is to be shown. */
  readonly file: string;
  readonly firstRowBottom: boolean;
  readonly sky: LocalSky;
  readonly stars: readonly SeenStar[];
}

/** Where the axis points, in the frame's local directions. */
export interface AxisToMark {
  readonly axis: Vector;
  readonly aim: Aim;
  readonly hemisphere: Hemisphere;
  readonly separationArcmin: number;
  readonly sigmaArcmin: number;
}

/** The star to be followed: one that was recognised, or any direction of the sky with its name; null: the marks choose. */
export type StarWish = { readonly seen: SeenStar } | { readonly name: string; readonly direction: Vector } | null;

/** A part of a path on the sensor, and the knob that makes it; null where the site is unknown, and so the knobs. */
export interface Leg {
  readonly knob: 'azimuth' | 'altitude' | null;
  readonly points: readonly Point[];
}

/** A star's place and its goal. */
export interface StarGoal {
  /** "Polaris", "the star of magnitude 6.2" */
  readonly name: string;
  /** False where it was not among the recognised stars (too bright, hidden) and its place is computed. */
  readonly seen: boolean;
  readonly now: Place;
  readonly goal: Place;
  readonly legs: readonly Leg[];
}

/** All that is drawn over a frame, as plain data: it can be kept as JSON. Pixels as stored, 0-based. */
export interface FrameMarks {
  readonly schema: 'poleward/marks-1';
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly firstRowBottom: boolean;
  /** ISO UTC of the frame. */
  readonly utc: string;
  readonly aim: Aim;
  readonly separationArcmin: number;
  readonly sigmaArcmin: number;
  readonly scaleArcsecPerPixel: number;
  /** Recognised stars; the brightest are in `stars`. */
  readonly identified: number;
  readonly stars: readonly (readonly [x: number, y: number, magnitude: number])[];
  readonly rotationCentre: Place;
  readonly pole: Place;
  /** The axis' path over the stars, from the rotation centre to the pole. */
  readonly path: readonly Leg[];
  readonly star: StarGoal | null;
  /** Length in pixels, at the middle, of an angle that is a round number. */
  readonly bar: { readonly pixels: number; readonly says: string };
  /** Directions on the sensor at its middle; null where undefined. */
  readonly north: Point | null;
  readonly east: Point | null;
  readonly up: Point | null;
  readonly dials: readonly DialTurn[];
}

/** The most stars kept: more can't be distinguished in a picture. */
const MOST_STARS = 250;
const POINTS_A_LEG = 12;
/** A scale bar is at most this share of the width. */
const BAR_SHARE = 0.25;
const BARS: readonly (readonly [number, string])[] = [
  ...[1, 2, 5, 10, 20, 30].map((n) => [n * ARCSECOND, `${n}″`] as const),
  ...[1, 2, 5, 10, 20, 30].map((n) => [n * ARCMINUTE, `${n}′`] as const),
  ...[1, 2, 5, 10, 20].map((n) => [n * DEGREE, `${n}°`] as const),
];

/**
 * What a drawing of a frame shows: stars, the pixel the mount turns about, the pole, the path between, the goal of one star, scale and
 * directions. Places are exact for the time of the frame, on or off the sensor.
 *
 * The star's goal: once the knobs have carried the axis to the aimed pole, the camera's pose is R·pose (R from {@link knobMove}); the star
 * keeps its local direction. A mount that tracks keeps it there.
 */
export function frameMarks(frame: SeenFrame, axis: AxisToMark, dials: readonly DialTurn[], wish: StarWish = null): FrameMarks {
  const { sky, stars } = frame;
  const pole = aimedPole(sky, axis.hemisphere, axis.aim);
  const move = sky.site && knobMove(axis.axis, pole);
  const north = scale(sky.truePole(axis.hemisphere), axis.hemisphere);
  const middle = middleDirection(frame);
  const brightest = [...stars].sort((a, b) => a.magnitude - b.magnitude);
  return {
    schema: 'poleward/marks-1',
    file: frame.file, width: frame.width, height: frame.height, firstRowBottom: frame.firstRowBottom,
    utc: sky.time.toISOString(), aim: axis.aim,
    separationArcmin: rounded(axis.separationArcmin, 5), sigmaArcmin: rounded(axis.sigmaArcmin, 5),
    scaleArcsecPerPixel: rounded(1 / (frame.lens.focalPixels * ARCSECOND), 5),
    identified: stars.length,
    stars: brightest.slice(0, MOST_STARS).map((s) => [rounded(s.x, 1), rounded(s.y, 1), rounded(s.magnitude, 1)]),
    rotationCentre: neat(placeOf(frame, axis.axis)),
    pole: neat(placeOf(frame, pole)),
    path: move
      ? legs((azimuth, altitude) => pixelOf(frame, move.axis(azimuth, altitude)))
      : [{ knob: null, points: straight(frame, axis.axis, pole) }],
    star: move && starGoal(frame, move, wish, brightest),
    bar: scaleBar(frame),
    north: headingTo(frame, north),
    east: headingTo(frame, north) && headingTo(frame, unit(cross(north, middle))),
    up: sky.site && headingTo(frame, [0, 0, 1]),
    dials,
  };
}

function starGoal(frame: SeenFrame, move: KnobMove, wish: StarWish, brightest: readonly SeenStar[]): StarGoal | null {
  const chosen = wish ?? automatic(frame, move, brightest);
  if (!chosen) return null;
  const direction = 'seen' in chosen ? chosen.seen.direction : chosen.direction;
  const way = (azimuth: number, altitude: number): Point | null => pixelOf(frame, before(move, azimuth, altitude, direction));
  return {
    name: 'seen' in chosen ? chosen.seen.name ?? `the star of magnitude ${chosen.seen.magnitude.toFixed(1)}` : chosen.name,
    seen: 'seen' in chosen,
    now: neat('seen' in chosen ? { at: [chosen.seen.x, chosen.seen.y] } : placeOf(frame, direction)),
    goal: neat(placeOf(frame, before(move, 1, 1, direction))),
    legs: legs(way),
  };
}

/** The brightest star that stays on the sensor, or else the brightest. */
function automatic(frame: SeenFrame, move: KnobMove, brightest: readonly SeenStar[]): StarWish {
  const stays = brightest.find(({ direction }) => {
    const goal = pixelOf(frame, before(move, 1, 1, direction));
    return goal !== null && onSensor(frame, goal);
  });
  const seen = stays ?? brightest[0];
  return seen ? { seen } : null;
}

/** The direction that now appears where `direction` will appear once the knobs have moved the camera. */
function before(move: KnobMove, azimuth: number, altitude: number, direction: Vector): Vector {
  return apply(inverse(move.rotation(azimuth, altitude)), direction);
}

/** Azimuth first, altitude last: the order of the advice. What can't be shown on a sensor is left out. */
function legs(way: (azimuth: number, altitude: number) => Point | null): Leg[] {
  const points = (each: (part: number) => Point | null): Point[] => Array.from(
    { length: POINTS_A_LEG + 1 }, (_, i) => each(i / POINTS_A_LEG),
  )
    .flatMap((p) => (p ? [neatPoint(p)] : []));
  return [
    { knob: 'azimuth', points: points((part) => way(part, 0)) },
    { knob: 'altitude', points: points((part) => way(1, part)) },
  ];
}

/** The great circle between two directions. */
function straight(frame: SeenFrame, from: Vector, to: Vector): Point[] {
  const angle = angleBetween(from, to);
  if (angle < 1e-12) return [];
  return Array.from({ length: POINTS_A_LEG + 1 }, (_, i) => {
    const a = Math.sin((1 - i / POINTS_A_LEG) * angle) / Math.sin(angle), b = Math.sin((i / POINTS_A_LEG) * angle) / Math.sin(angle);
    return pixelOf(frame, [a * from[0] + b * to[0], a * from[1] + b * to[1], a * from[2] + b * to[2]]);
  }).flatMap((p) => (p ? [neatPoint(p)] : []));
}

/** The longest round angle that fits, and its length across the middle along a row. */
function scaleBar({ width, height, lens }: SensorView): FrameMarks['bar'] {
  const across = (pixels: number): number => angleBetween(
    toDirection(lens, (width - 1 - pixels) / 2, (height - 1) / 2), toDirection(lens, (width - 1 + pixels) / 2, (height - 1) / 2));
  const most = across(BAR_SHARE * width);
  const [angle, says] = BARS.filter(([size]) => size <= most).at(-1) ?? BARS[0]!;
  let short = 0, long = width;
  for (let i = 0; i < 50; i++) {
    const between = (short + long) / 2;
    if (across(between) < angle) short = between;
    else long = between;
  }
  return { pixels: rounded(short, 2), says };
}

function neat(place: Place): Place {
  return 'at' in place ? { at: neatPoint(place.at) } : {
    edge: neatPoint(place.edge), heading: [rounded(place.heading[0], 4), rounded(place.heading[1], 4)],
    beyondArcmin: rounded(place.beyondArcmin, 2),
  };
}

function neatPoint([x, y]: Point): Point {
  return [rounded(x, 2), rounded(y, 2)];
}

function rounded(value: number, digits: number): number {
  const factor = 10 ** digits;
  const r = Math.round(value * factor) / factor;
  return r === 0 ? 0 : r;
}
