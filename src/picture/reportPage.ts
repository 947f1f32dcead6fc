import { type ChartPoint, convergenceChart } from './convergenceChart.js';
import type { Backdrop } from './encodeCells.js';
import { frameDrawing } from './frameDrawing.js';
import type { FrameMarks } from './frameMarks.js';
import { PAGE_INKS } from './inks.js';
import { knobDial } from './knobDial.js';
import { element, escaped } from './markup.js';

/** A line of figures, the first cell its name. */
export type ReportRow = readonly string[];

export interface ReportTable {
  readonly head: ReportRow;
  readonly rows: readonly ReportRow[];
}

/** One look at the axis. */
export interface ReportLook {
  /** Lines as in `log`: what was done, what was seen, what that did. */
  readonly story: string;
  readonly warnings: readonly string[];
  readonly picture: { readonly marks: FrameMarks; readonly backdrop: Backdrop | null; readonly note: string | null } | null;
}

/** A section: fixed lines, sentences, a table; any of them may be absent. */
export interface ReportSection {
  readonly title: string;
  readonly text: string | null;
  readonly lines: readonly string[];
  readonly table: ReportTable | null;
}

export interface ReportContent {
  readonly title: string;
  readonly standing: readonly string[];
  readonly chart: readonly ChartPoint[];
  readonly figures: ReportTable;
  readonly looks: readonly ReportLook[];
  /** Knobs, run, whatever else there is. */
  readonly sections: readonly ReportSection[];
  /** When and by what it was made, and the meaning of its signs. */
  readonly foot: readonly string[];
  /** Dim red on black. */
  readonly night: boolean;
}

const FRAME_WIDTH = 620;
const DIAL_SIZE = 150;

/**
 * The night on one self-contained page: HTML that is well-formed XML too. Dark on the screen, since it may be opened at the mount; black on
 * white on paper, frames as negatives. All text is escaped here: `content` has plain text.
 */
export function reportPage(content: ReportContent): string {
  const { title, standing, chart, figures, looks, sections, foot, night } = content;
  const body = [
    element('h1', {}, escaped(title)),
    element('p', { class: 'standing' }, standing.map(escaped).join('<br/>')),
    chart.length > 0 ? element('figure', {}, convergenceChart(chart, PAGE_INKS), element('figcaption', {}, CAPTION)) : '',
    figures.rows.length > 0 ? table(figures) : '',
    element('h2', {}, 'The night, look by look'),
    ...looks.map(lookMarkup),
    ...sections.map(({ title: name, text, lines, table: more }) => element('section', {},
      element('h2', {}, escaped(name)), text === null ? '' : element('pre', {}, escaped(text)), ...lines.map(paragraph),
      more ? table(more) : '')),
    element('footer', {}, ...foot.map(paragraph)),
  ];
  return '<!DOCTYPE html>\n' + element('html', { lang: 'en', class: night ? 'red' : 'dark' },
    element('head', {},
      element('meta', { charset: 'utf-8' }),
      element(
        'meta', { 'http-equiv': 'Content-Security-Policy', content: 'default-src \'none\'; img-src data:; style-src \'unsafe-inline\'' },
      ),
      element('meta', { name: 'viewport', content: 'width=device-width, initial-scale=1' }),
      element('meta', { name: 'color-scheme', content: 'dark' }),
      element('title', {}, escaped(title)),
      element('style', {}, STYLE)),
    element('body', {}, ...body)) + '\n';
}

const CAPTION =
  'Distance from the aimed pole at each look, logarithmic, with its error. Diamonds: frames turned in right ascension; dots: one frame '
    + 'after a knob.';

function lookMarkup({ story, warnings, picture }: ReportLook): string {
  return element('article', {},
    element('pre', {}, escaped(story)),
    ...warnings.map((w) => element('p', { class: 'warning' }, escaped(w))),
    picture ? pictureMarkup(picture) : '');
}

function pictureMarkup({ marks, backdrop, note }: NonNullable<ReportLook['picture']>): string {
  const dials = marks.dials.map((dial) => element('div', { class: 'dial' },
    element('strong', {}, escaped(dial.name)), knobDial(dial, PAGE_INKS.dial, { size: DIAL_SIZE }),
    element('span', {}, escaped(dial.words))));
  const caption =
    `${marks.file}, ${marks.utc.slice(11, 19)} UTC, ${marks.identified} recognised stars, ${marks.scaleArcsecPerPixel.toPrecision(4)}″ a `
      + `pixel.${note === null ? '' : ` ${note}`}`;
  return element('figure', { class: 'look' },
    element('div', { class: 'sheet' },
      dials.length > 0 ? element('div', { class: 'hands' }, ...dials) : '',
      frameDrawing({ marks, backdrop, width: FRAME_WIDTH }, PAGE_INKS)),
    element('figcaption', {}, escaped(caption)));
}

function table({ head, rows }: ReportTable): string {
  const row = (cells: ReportRow, name: string): string => element('tr', {}, ...cells.map((cell) => element(name, {}, escaped(cell))));
  return element(
    'table', {}, head.length > 0 ? element('thead', {}, row(head, 'th')) : '', element('tbody', {}, ...rows.map((r) => row(r, 'td'))),
  );
}

function paragraph(line: string): string {
  return element('p', {}, escaped(line));
}

/** No quotes, angle brackets or ampersands here: it is written into the page unchanged. */
const STYLE = `
:root { --ground: #12100e; --text: #efe6d8; --faint: #8d857a; --seen: #b9c7d6;
  --axis: #e69f00; --pole: #56b4e9; --star: #cc79a7; --turn: #ffd9a8; }
:root.red { --ground: #000; --text: #c8281e; --faint: #6e1610; --seen: #8c1d15;
  --axis: #ff3a2a; --pole: #e0301f; --star: #ff5a48; --turn: #ff3a2a; }
body { background: var(--ground); color: var(--text); font: 16px/1.45 sans-serif; margin: 0 auto; padding: 1.2rem; max-width: 62rem; }
h1 { font-size: 1.5rem; margin: 0 0 .4rem; }
h2 { font-size: 1.15rem; margin: 1.8rem 0 .5rem; border-bottom: 1px solid var(--faint); }
.standing { font-size: 1.2rem; }
pre { font: 14px/1.4 monospace; white-space: pre-wrap; margin: 1rem 0 .5rem; }
figure { margin: .8rem 0; }
figcaption, footer { font-size: .85rem; color: var(--text); }
.sheet { display: flex; flex-wrap: wrap; gap: 1rem; align-items: flex-start; }
.sheet svg, .chart { max-width: 100%; height: auto; }
.hands { display: flex; flex-direction: column; gap: .6rem; width: 17rem; }
.dial { display: flex; flex-direction: column; font-size: .85rem; }
.warning { border-left: 3px solid var(--axis); padding-left: .6rem; }
table { border-collapse: collapse; margin: .6rem 0; font-size: .9rem; }
th, td { text-align: left; padding: .2rem .8rem .2rem 0; border-bottom: 1px solid var(--faint); vertical-align: top; }
@page { margin: 14mm; }
@media print {
  :root, :root.red { --ground: #fff; --text: #000; --faint: #888; --seen: #333;
    --axis: #000; --pole: #000; --star: #000; --turn: #000; color-scheme: light; }
  body { padding: 0; max-width: none; font-size: 11pt; }
  .night { fill: #fff; }
  .label { stroke: #fff; }
  .sky { filter: grayscale(1) invert(1); }
  figure, article, section, tr { break-inside: avoid; }
  article { break-inside: auto; }
  .hands { width: 12rem; }
  .sheet { flex-wrap: nowrap; }
}
`;
