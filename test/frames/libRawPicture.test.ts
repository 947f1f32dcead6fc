import { expect, it } from 'vitest';
import { libRawPicture, type LibRawClass } from '../../src/frames/libRawPicture.js';

/** Stands for LibRaw, which takes the camera's clock for the zone of the computer. */
function knows(timestamp: number): LibRawClass {
  const said = { raw_width: 6000, raw_height: 4000, timestamp, shutter: 30, focal_len: 0, filters: 0, colors: 3,
    color_data: { maximum: 0 } };
  return class {
    open(): void {}
    metadata(): typeof said { return said; }
    rawImageData(): undefined {}
    imageData(): undefined {}
    delete(): void {}
  } as unknown as LibRawClass;
}

it.each([[2026, 0, 15], [2026, 6, 15]])('what the camera\'s clock showed in %i, month %i, is told whatever the computer\'s zone',
  (year, month, day) => {
  // Winter and summer: the computer's zone may differ between them.
  const { about } = libRawPicture(knows(new Date(year, month, day, 20, 30, 0).getTime() / 1000), new Uint8Array(9), 1);
  expect(about).toEqual({
    width: 6000, height: 4000, clockMs: Date.UTC(year, month, day, 20, 30, 0), exposureSeconds: 30, focalLengthMillimetres: null,
  });
});
it('a camera without a clock has no time', () => {
  expect(libRawPicture(knows(0), new Uint8Array(9), 1).about?.clockMs).toBeNull();
});
