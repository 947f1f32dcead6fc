import type { FrameCells } from './frameCells.js';

/** A picture that a page or an SVG file holds within itself. */
export interface Backdrop {
  /** `data:image/jpeg;base64,…` */
  readonly uri: string;
  readonly cells: Omit<FrameCells, 'grey'>;
}

/** The cells as JPEG, grey or in red alone. */
export async function encodeCells({ grey, ...cells }: FrameCells, red: boolean, quality = 82): Promise<Backdrop> {
  // Heavy to load, and only pictures need it.
  const { default: sharp } = await import('sharp');
  const { width, height } = cells;
  const channels = red ? 3 : 1;
  let samples = grey;
  if (red) {
    samples = new Uint8Array(3 * grey.length);
    for (let i = 0; i < grey.length; i++) samples[3 * i] = grey[i]!;
  }
  // With a colour that is sampled at half the resolution, red stars would smear.
  const bytes = await sharp(samples, { raw: { width, height, channels } }).jpeg({ quality, chromaSubsampling: '4:4:4' }).toBuffer();
  return { uri: `data:image/jpeg;base64,${bytes.toString('base64')}`, cells };
}
