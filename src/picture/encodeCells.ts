import type { FrameCells } from './frameCells.js';

/** A picture embedded in a page or an SVG file. */
export interface Backdrop {
  /** `data:image/jpeg;base64,…` */
  readonly uri: string;
  readonly cells: Omit<FrameCells, 'grey'>;
}

/**
 * Makes JPEG of samples, row by row from the top, one (grey) or three (red, green, blue) bytes a pixel, as a `data:` URI. `quality` 0 to
 * 100. Colour must not be stored at half the resolution: red stars would smear.
 */
export type EncodeJpeg = (
  samples: Uint8Array, picture: { readonly width: number; readonly height: number; readonly channels: 1 | 3 }, quality: number,
) => Promise<string>;

/** The cells as JPEG, grey or in red alone. */
export async function encodeCells({ grey, ...cells }: FrameCells, red: boolean, encode: EncodeJpeg, quality = 82): Promise<Backdrop> {
  const { width, height } = cells;
  if (!red) return { uri: await encode(grey, { width, height, channels: 1 }, quality), cells };
  const samples = new Uint8Array(3 * grey.length);
  for (let i = 0; i < grey.length; i++) samples[3 * i] = grey[i]!;
  return { uri: await encode(samples, { width, height, channels: 3 }, quality), cells };
}
