import type { Backdrop } from './encodeCells.js';
import type { FrameMarks, Leg, StarGoal } from './frameMarks.js';
import type { Inks } from './inks.js';
import { coordinate, element, escaped } from './markup.js';
import type { Place, Point } from './onSensor.js';
import { FONT, type LabelWish, placeLabels, textBox } from './placeLabels.js';

/** Stars of this magnitude and fainter get the smallest ring; each magnitude brighter adds to it. */
const FAINT_MAGNITUDE = 11;
const SMALLEST_RING = 4;
const SMALL_FONT = 14;
/** Marks nearer than this, in display units, have their names on opposite sides. */
const CROWDED = 90;

/** A frame with its marks, `width` units wide; its height follows from the frame, see {@link shownHeight}. */
export interface DrawnFrame {
  readonly marks: FrameMarks;
  /** Null where the frame's pixels are not available: then recognised stars are drawn as dots. */
  readonly backdrop: Backdrop | null;
  readonly width: number;
}

/** Height of a drawn frame. */
export function shownHeight({ marks, width }: Pick<DrawnFrame, 'marks' | 'width'>): number {
  return (width * marks.height) / marks.width;
}

/**
 * Where a pixel of the stored picture is shown: x to the right and y down from the drawing's corner. A frame is shown as its format's
 * viewers show it, FITS with its first row at the bottom, so that `mirrored` of the JSON describes what is seen.
 */
export function shownPoint({ marks, width }: Pick<DrawnFrame, 'marks' | 'width'>, [x, y]: Point): Point {
  const unit = width / marks.width;
  return [(x + 0.5) * unit, (marks.firstRowBottom ? marks.height - 0.5 - y : y + 0.5) * unit];
}

/** The frame as an `svg` element, for a page or another picture. */
export function frameDrawing(drawn: DrawnFrame, inks: Inks, place: { readonly x?: number; readonly y?: number } = {}): string {
  const { marks, width } = drawn;
  const height = shownHeight(drawn);
  return element('svg', {
    viewBox: `0 0 ${coordinate(width)} ${coordinate(height)}`, x: place.x ?? null, y: place.y ?? null, width, height,
    role: 'img', 'aria-label': frameWords(marks), overflow: 'hidden',
  },
  element('rect', { x: 0, y: 0, width, height, fill: '#000', class: 'night' }),
  backdropOf(drawn), stars(drawn, inks), ways(drawn, inks), goal(drawn, inks), poles(drawn, inks), names(drawn, inks), bar(drawn, inks),
  compass(drawn, inks),
  element('rect', { x: 0.5, y: 0.5, width: width - 1, height: height - 1, fill: 'none', stroke: inks.faint }));
}

/** What the drawing shows, for screen readers. */
export function frameWords(marks: FrameMarks): string {
  const { star } = marks;
  return [
    `${marks.file}: ${marks.identified} recognised stars`,
    `the mount turns about ${placeWords(marks.rotationCentre)}`,
    `the ${marks.aim} pole ${'at' in marks.pole ? `stands at ${placeWords(marks.pole)}` : `lies ${placeWords(marks.pole)}`}`,
    ...(star ? [`${star.name} must go from ${placeWords(star.now)} to ${placeWords(star.goal)}`] : []),
  ].join('; ') + '.';
}

function placeWords(place: Place): string {
  return 'at' in place
    ? `pixel ${place.at[0].toFixed(1)}, ${place.at[1].toFixed(1)}`
    : `${beyondWords(place.beyondArcmin)} outside the frame`;
}

/** "1.2°", "14′" */
export function beyondWords(arcmin: number): string {
  return arcmin >= 60 ? `${(arcmin / 60).toFixed(1)}°` : arcmin >= 10 ? `${arcmin.toFixed(0)}′` : `${arcmin.toFixed(1)}′`;
}

function backdropOf({ marks, backdrop, width }: DrawnFrame): string {
  if (!backdrop) return '';
  const unit = width / marks.width;
  const { cells, uri } = backdrop;
  return element('image', {
    href: uri, x: cells.left * unit, y: cells.top * unit, width: cells.width * cells.side * unit, height: cells.height * cells.side * unit,
    preserveAspectRatio: 'none', class: 'sky',
  });
}

function stars(drawn: DrawnFrame, inks: Inks): string {
  const rings = drawn.marks.stars.map(([x, y, magnitude]) => {
    const [cx, cy] = shownPoint(drawn, [x, y]);
    const brightness = Math.max(0, FAINT_MAGNITUDE - magnitude);
    return drawn.backdrop
      ? element('circle', { cx, cy, r: SMALLEST_RING + 1.2 * brightness, fill: 'none' })
      : element('circle', { cx, cy, r: 0.8 + 0.45 * brightness, stroke: 'none' });
  });
  return element('g', { class: 'stars', fill: inks.seen, stroke: inks.seen, 'stroke-width': 1, opacity: 0.8 }, ...rings);
}

/** The axis' path over the stars: azimuth dashed, altitude solid. */
function ways(drawn: DrawnFrame, inks: Inks): string {
  const { path, star } = drawn.marks;
  return element(
    'g', { class: 'axis-way', fill: 'none', stroke: inks.axis, 'stroke-width': 2.5 }, ...path.map((leg) => legLine(drawn, leg)),
  )
    + (star
      ? element(
        'g', { class: 'star-way', fill: 'none', stroke: inks.star, 'stroke-width': 2.5 }, ...star.legs.map((leg) => legLine(drawn, leg)),
      )
      : '');
}

function legLine(drawn: DrawnFrame, { knob, points }: Leg): string {
  if (points.length < 2) return '';
  const shown = points.map((p) => shownPoint(drawn, p).map((v) => coordinate(v)).join(' '));
  return element('path', { d: `M${shown.join('L')}`, 'stroke-dasharray': knob === 'azimuth' ? '8 6' : null, class: knob });
}

/** The star's place, and the dashed ring that it must go into. */
function goal(drawn: DrawnFrame, inks: Inks): string {
  const { star } = drawn.marks;
  if (!star) return '';
  const now = pin(drawn, star.now);
  const to = pin(drawn, star.goal);
  return element('g', { class: 'star-goal', fill: 'none', stroke: inks.star, 'stroke-width': 2.5 },
    'at' in star.now ? element('circle', { cx: now.at[0], cy: now.at[1], r: 13, class: 'now' }) : '',
    'at' in star.goal
      ? element('circle', { cx: to.at[0], cy: to.at[1], r: 15, 'stroke-dasharray': '5 4', class: 'goal' })
      : arrow(to, inks.star));
}

/** The names of all marks, without overlap. */
function names(drawn: DrawnFrame, inks: Inks): string {
  const { marks, width } = drawn;
  const { star, rotationCentre, pole, aim } = marks;
  const [centre, at] = [pin(drawn, rotationCentre).at, pin(drawn, pole).at];
  const out = (place: Place): string => ('at' in place ? '' : `, ${beyondWords(place.beyondArcmin)} outside`);
  const turns = `the mount turns here${out(rotationCentre)}`.replace(' here,', ' about a point,');
  const wishes: LabelWish[] = [
    ...(star ? starNames(drawn, star, inks.star) : []),
    { at: centre, side: away(centre, at), text: turns, ink: inks.axis },
    { at, side: away(at, centre), text: `${aim} pole${out(pole)}`, ink: inks.pole },
  ];
  const taken = [barWords(drawn), ...hands(drawn).map(({ says, words }) => ({ text: says, at: words }))]
    .map(({ text, at: place }) => textBox(place, text, SMALL_FONT));
  const places = placeLabels(wishes, taken, width, shownHeight(drawn));
  return wishes.map(({ text, ink }, i) => label(places[i]!, text, ink)).join('');
}

/** The names of the star and its goal; near each other one name is enough. */
function starNames(drawn: DrawnFrame, star: StarGoal, ink: string): LabelWish[] {
  const [now, to] = [pin(drawn, star.now).at, pin(drawn, star.goal).at];
  const near = Math.hypot(now[0] - to[0], now[1] - to[1]) < CROWDED;
  const goes = 'at' in star.goal ? `${star.name} goes here` : `${star.name} leaves the frame, ${beyondWords(star.goal.beyondArcmin)} on`;
  return [
    ...(near ? [] : [{ at: now, side: away(now, to), text: star.seen ? star.name : `${star.name} (computed)`, ink }]),
    { at: to, side: away(to, now), text: goes, ink },
  ];
}

/** The pixel that the mount turns about, and the pole. */
function poles(drawn: DrawnFrame, inks: Inks): string {
  const { rotationCentre, pole } = drawn.marks;
  const centre = pin(drawn, rotationCentre);
  const pin2 = pin(drawn, pole);
  const [cx, cy] = centre.at;
  const [px, py] = pin2.at;
  const axisMark = 'at' in rotationCentre
    ? element(
      'path',
      {
        d: `M${cx} ${cy - 15}L${cx + 15} ${cy}L${cx} ${cy + 15}L${cx - 15} ${cy}Z M${cx - 2} ${cy}h4 M${cx} ${cy - 2}v4`,
        class: 'rotation-centre',
      },
    )
    : arrow(centre, inks.axis);
  const poleMark = 'at' in pole
    ? element('path', { d: `M${px - 18} ${py}h11 M${px + 7} ${py}h11 M${px} ${py - 18}v11 M${px} ${py + 7}v11`, class: 'pole' })
    : arrow(pin2, inks.pole);
  return element('g', { fill: 'none', stroke: inks.pole, 'stroke-width': 3 }, poleMark)
    + element('g', { fill: 'none', stroke: inks.axis, 'stroke-width': 2.5 }, axisMark);
}

interface Pin {
  readonly at: Point;
  /** Where the path leaves the sensor; null if it stays on it. */
  readonly heading: Point | null;
}

/** A place, or the arrow at the edge toward it. */
function pin(drawn: DrawnFrame, place: Place): Pin {
  if ('at' in place) return { at: rounded(shownPoint(drawn, place.at)), heading: null };
  const [dx, dy] = place.heading;
  return { at: rounded(shownPoint(drawn, place.edge)), heading: drawn.marks.firstRowBottom ? [dx, -dy] : [dx, dy] };
}

function rounded([x, y]: Point): Point {
  return [Math.round(x * 100) / 100, Math.round(y * 100) / 100];
}

/** An arrow whose tip touches the edge of the frame. */
function arrow({ at: [x, y], heading }: Pin, ink: string): string {
  const [dx, dy] = heading ?? [1, 0];
  const back = (along: number, aside: number): string =>
    `${coordinate(x - along * dx - aside * dy)} ${coordinate(y - along * dy + aside * dx)}`;
  return element('path', { d: `M${back(46, 0)}L${back(14, 0)}`, 'stroke-width': 4, class: 'beyond' })
    + element('path', { d: `M${back(0, 0)}L${back(20, 9)}L${back(20, -9)}Z`, fill: ink, stroke: 'none' });
}

/** Away from a neighbour: whether a mark's name goes below it or above. */
function away([, y]: Point, [, other]: Point): number {
  return y >= other ? 1 : -1;
}

/** A name on a dark rim. */
function label([x, y]: Point, text: string, ink: string): string {
  return element('text', {
    x, y, fill: ink, stroke: '#000', 'stroke-width': 4, 'paint-order': 'stroke', 'stroke-linejoin': 'round',
    'font-size': FONT, 'font-family': 'sans-serif', 'text-anchor': 'middle', class: 'label',
  }, escaped(text));
}

function bar(drawn: DrawnFrame, inks: Inks): string {
  const { marks, width } = drawn;
  const long = (marks.bar.pixels * width) / marks.width;
  const y = shownHeight(drawn) - 22;
  return element(
    'path', { d: `M18 ${coordinate(y - 6)}v6h${coordinate(long)}v-6`, fill: 'none', stroke: inks.text, 'stroke-width': 2, class: 'bar' },
  )
    + small(barWords(drawn).at, marks.bar.says, inks.text);
}

/** The bar's length and where it is written. */
function barWords(drawn: DrawnFrame): { readonly text: string; readonly at: Point } {
  const { marks, width } = drawn;
  return { text: marks.bar.says, at: [18 + (marks.bar.pixels * width) / marks.width / 2, shownHeight(drawn) - 30] };
}

/** Sky north and east, and up from the horizon, as the middle of the frame has them. */
function compass(drawn: DrawnFrame, inks: Inks): string {
  return hands(drawn).map(({ says, tip, words }) => {
    const up = says === 'up';
    const [x, y] = compassMiddle(drawn);
    const ink = up ? inks.text : inks.pole;
    return element('path', {
      d: `M${coordinate(x)} ${coordinate(y)}L${coordinate(tip[0])} ${coordinate(tip[1])}`, stroke: ink, 'stroke-width': 2, fill: 'none',
      'stroke-dasharray': up ? null : '4 3', class: `toward-${says}`,
    }) + small(words, says, ink);
  }).join('');
}

interface Hand {
  readonly says: 'N' | 'E' | 'up';
  readonly tip: Point;
  /** Where its name is written. */
  readonly words: Point;
}

function hands(drawn: DrawnFrame): Hand[] {
  const { north, east, up, firstRowBottom } = drawn.marks;
  const [x, y] = compassMiddle(drawn);
  const hand = (heading: Point | null, says: Hand['says'], reach: number): Hand[] => {
    if (!heading) return [];
    const [dx, dy] = [heading[0], firstRowBottom ? -heading[1] : heading[1]];
    return [{ says, tip: [x + 34 * dx, y + 34 * dy], words: [x + reach * dx, y + reach * dy + 5] }];
  };
  // Where two hands point the same way, their names are written one behind the other.
  const together = (a: Point | null, b: Point | null): boolean => a !== null && b !== null && a[0] * b[0] + a[1] * b[1] > 0.75;
  const upReach = together(up, north) || together(up, east) ? 64 : 48;
  return [...hand(north, 'N', 48), ...hand(east, 'E', 48), ...hand(up, 'up', upReach)];
}

function compassMiddle(drawn: DrawnFrame): Point {
  return [drawn.width - 76, shownHeight(drawn) - 76];
}

function small([x, y]: Point, text: string, ink: string): string {
  return element('text', {
    x, y, fill: ink, stroke: '#000', 'stroke-width': 3, 'paint-order': 'stroke', 'font-size': SMALL_FONT, 'font-family': 'sans-serif',
    'text-anchor': 'middle', class: 'label',
  }, escaped(text));
}
