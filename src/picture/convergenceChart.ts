import type { Inks } from './inks.js';
import { coordinate, element, escaped } from './markup.js';

/** One look at the axis: how far off, and one sigma of it, arcminutes. */
export interface ChartPoint {
  readonly separationArcmin: number;
  readonly sigmaArcmin: number;
  /** The label below it: the time of day. */
  readonly says: string;
  /** From rotated frames, or from one frame after a knob was turned. */
  readonly how: 'rotation' | 'recheck';
}

const WIDTH = 860;
const HEIGHT = 330;
const LEFT = 70;
const RIGHT = 20;
const TOP = 16;
const BOTTOM = 44;
const LABELS: readonly (readonly [arcmin: number, says: string])[] = [
  [1 / 600, '0.1″'], [1 / 60, '1″'], [1 / 6, '10″'], [1, '1′'], [10, '10′'], [60, '1°'], [600, '10°'],
];

/** The scale's ends: a range that includes all points and their errors, a decade at least. */
export function chartRange(points: readonly ChartPoint[]): { least: number; most: number } {
  const least = Math.min(
    ...points.map((p) => Math.max(1e-4, Math.min(p.sigmaArcmin, p.separationArcmin - p.sigmaArcmin))).filter((v) => v > 0),
  );
  const most = Math.max(...points.map((p) => p.separationArcmin + p.sigmaArcmin));
  const low = Number.isFinite(least) ? least / 1.5 : 1e-3;
  return { least: Math.min(low, most / 10), most: most * 1.5 };
}

/** The height of a distance in the chart, on its logarithmic scale. */
export function chartHeight(arcmin: number, { least, most }: { least: number; most: number }): number {
  const share = Math.log(Math.max(arcmin, least) / least) / Math.log(most / least);
  return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM);
}

/**
 * How the error decreased: distance from the aimed pole at each look with its one-sigma error, on a logarithmic scale, and the one-sigma
 * error itself, below which a distance is not significant. An `svg` element; empty without points.
 */
export function convergenceChart(points: readonly ChartPoint[], inks: Inks): string {
  if (points.length === 0) return '';
  const range = chartRange(points);
  const step = (WIDTH - LEFT - RIGHT) / Math.max(1, points.length);
  const x = (i: number): number => LEFT + (i + 0.5) * step;
  const y = (arcmin: number): number => chartHeight(arcmin, range);
  const line = (values: readonly number[]): string => `M${values.map((v, i) => `${coordinate(x(i))} ${coordinate(y(v))}`).join('L')}`;
  const grid = LABELS.filter(([arcmin]) => arcmin >= range.least && arcmin <= range.most).map(([arcmin, says]) => element('path', {
    d: `M${LEFT} ${coordinate(y(arcmin))}H${WIDTH - RIGHT}`, stroke: inks.faint, 'stroke-width': 0.7,
  }) + words(LEFT - 8, y(arcmin) + 5, says, inks.text, 'end'));
  // With many looks there is not room for every time.
  const every = Math.ceil(54 / step);
  const marks = points.map((p, i) => {
    const low = p.separationArcmin - p.sigmaArcmin;
    return element('path', {
      d: `M${coordinate(x(i))} `
        + `${coordinate(y(p.separationArcmin + p.sigmaArcmin))}V${coordinate(low > range.least ? y(low) : HEIGHT - BOTTOM)}`,
        stroke: inks.axis, 'stroke-width': 2, class: 'error',
    }) + (p.how === 'rotation'
      ? element(
        'path', { d: `M${coordinate(x(i))} ${coordinate(y(p.separationArcmin) - 6)}l6 6l-6 6l-6 -6Z`, fill: inks.axis, class: 'look' },
      )
      : element('circle', { cx: x(i), cy: y(p.separationArcmin), r: 5, fill: inks.axis, class: 'look' }))
      + (i % every === 0 ? words(x(i), HEIGHT - BOTTOM + 20, p.says, inks.text, 'middle') : '');
  });
  return element('svg', {
    viewBox: `0 0 ${WIDTH} ${HEIGHT}`, width: WIDTH, height: HEIGHT, role: 'img', class: 'chart',
    'aria-label': 'Distance from the pole at each look: '
      + `${points.map((p) => `${p.separationArcmin.toPrecision(3)}′ ± ${p.sigmaArcmin.toPrecision(2)}′`).join(', ')}.`,
  },
  ...grid,
  element(
    'path',
    {
      d: line(points.map((p) => p.sigmaArcmin)), fill: 'none', stroke: inks.pole, 'stroke-width': 1.5, 'stroke-dasharray': '6 5',
      class: 'sigma',
    },
  ),
  element('path', { d: line(points.map((p) => p.separationArcmin)), fill: 'none', stroke: inks.axis, 'stroke-width': 1.5 }),
  ...marks,
  words(WIDTH - RIGHT, HEIGHT - 4, 'UTC; dashed: one sigma', inks.text, 'end'));
}

function words(x: number, y: number, text: string, ink: string, anchor: 'end' | 'middle'): string {
  return element('text', { x, y, fill: ink, 'font-size': 13, 'font-family': 'sans-serif', 'text-anchor': anchor }, escaped(text));
}
