import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Point } from '../../src/picture/onSensor.js';
import { type LabelWish, overlap, placeLabels, textBox } from '../../src/picture/placeLabels.js';

const WIDTH = 900, HEIGHT = 600;
const wish = (at: Point, side: 1 | -1, text: string): LabelWish => ({ at, side, text, ink: '#fff' });
const place = (...wishes: LabelWish[]): Point[] => placeLabels(wishes, [], WIDTH, HEIGHT);

describe('names beside marks', () => {
  it('stand below or above, where there is room', () => {
    expect(place(wish([300, 200], 1, 'Polaris'), wish([500, 400], -1, 'true pole'))).toEqual([[300, 236], [500, 374]]);
  });

  it('go to the other side at the edge, and stay on the frame', () => {
    expect(place(wish([450, 590], 1, 'below'), wish([450, 10], -1, 'above'))).toEqual([[450, 564], [450, 46]]);
    const [[left] = []] = place(wish([2, 300], 1, 'the mount turns here'));
    expect(left).toBeCloseTo(6 + textBox([0, 0], 'the mount turns here').right, 9);
  });

  it('two marks in one corner both go off the frame: their names stand one above the other', () => {
    const at: Point = [890, 595];
    const places = place(wish(at, 1, 'the mount turns about a point, 2.1° outside'), wish(at, -1, 'refracted pole, 1.9° outside'));
    expect(places[0]![1]).not.toBe(places[1]![1]);
  });

  it('never lie over another or over what is taken, wherever four marks are, and are on the frame', () => {
    const point = fc.tuple(fc.double({ min: 0, max: WIDTH, noNaN: true }), fc.double({ min: 0, max: HEIGHT, noNaN: true }));
    const corner = fc.constantFrom<Point>([0, 0], [WIDTH, 0], [0, HEIGHT], [WIDTH, HEIGHT], [450, HEIGHT]);
    const any = fc.record({
      at: fc.oneof(point, corner), side: fc.constantFrom<1 | -1>(1, -1), text: fc.string({ minLength: 3, maxLength: 60 }),
      ink: fc.constant('#fff'),
    });
    const taken = [textBox([60, HEIGHT - 30], '30′'), textBox([WIDTH - 76, HEIGHT - 119], 'N'), textBox([WIDTH - 28, HEIGHT - 71], 'E')];
    fc.assert(fc.property(fc.array(any, { minLength: 1, maxLength: 4 }), (wishes) => {
      const boxes = placeLabels(wishes, taken, WIDTH, HEIGHT).map((at, i) => textBox(at, wishes[i]!.text));
      for (const [i, box] of boxes.entries()) {
        expect(box.left).toBeGreaterThan(0);
        expect(box.right).toBeLessThan(WIDTH);
        expect(box.top).toBeGreaterThanOrEqual(0);
        expect(box.bottom).toBeLessThan(HEIGHT);
        for (const other of [...taken, ...boxes.slice(0, i)]) expect(overlap(box, other)).toBe(false);
      }
    }));
  });
});
