import type { Point } from './onSensor.js';

/** A name that wants to stand beside a mark. */
export interface LabelWish {
  readonly at: Point;
  /** The side of the mark: + below, - above. */
  readonly side: number;
  readonly text: string;
  readonly ink: string;
}

/** A rectangle that text covers. */
export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Size of labels: their letters' height, and width as a share of it. */
export const FONT = 15;
const GLYPH = 0.58;
/** From one line of text to the next. */
const LINE = FONT + 5;
/** From a mark to the baseline of a name below it, and above. */
const BELOW = 36, ABOVE = 26;
const MARGIN = 6;

/** What a line of text covers whose middle stands at a place of its baseline. */
export function textBox([x, y]: Point, text: string, font = FONT): Box {
  const half = (GLYPH * font * text.length) / 2;
  return { left: x - half, right: x + half, top: y - font, bottom: y + 4 };
}

export function overlap(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/**
 * Where names go, in the order in which they count: beside their marks, on the frame whatever happens, and none over another or over
 * what is taken. One that finds its place taken goes to the other side of its mark, else the line nearest to it that is free.
 */
export function placeLabels(wishes: readonly LabelWish[], taken: readonly Box[], width: number, height: number): Point[] {
  const boxes = [...taken];
  return wishes.map(({ at: [x, y], side, text }) => {
    const half = (GLYPH * FONT * text.length) / 2;
    const across = Math.min(width - MARGIN - half, Math.max(MARGIN + half, x));
    const [least, most] = [FONT + 2, height - 8];
    const within = (line: number): number => Math.min(most, Math.max(least, line));
    const preferred = side > 0 ? y + BELOW : y - ABOVE;
    const first = within(preferred > most ? y - ABOVE : preferred < least ? y + BELOW : preferred);
    const others = [side > 0 ? y - ABOVE : y + BELOW];
    for (let step = LINE; step < height; step += LINE) others.push(first - step, first + step);
    const lines = [first, ...others.filter((line) => line >= least && line <= most)];
    const free = lines.find((line) => !boxes.some((box) => overlap(box, textBox([across, line], text))));
    const place: Point = [across, free ?? first];
    boxes.push(textBox(place, text));
    return place;
  });
}
