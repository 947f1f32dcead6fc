import type { Point } from './onSensor.js';

/** A name to be written beside a mark. */
export interface LabelWish {
  readonly at: Point;
  /** The side of the mark: + below, - above. */
  readonly side: number;
  readonly text: string;
  readonly ink: string;
}

/** A rectangle covered by text. */
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

/** The rectangle of a line of text whose baseline has its middle at a place. */
export function textBox([x, y]: Point, text: string, font = FONT): Box {
  const half = (GLYPH * font * text.length) / 2;
  return { left: x - half, right: x + half, top: y - font, bottom: y + 4 };
}

export function overlap(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/**
 * The places of names, in order of importance: beside their marks, always within the frame, without covering each other or other taken
 * space. A name whose place is taken goes to the other side of its mark, else to the nearest free line.
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
