import type { EncodeJpeg } from '../picture/encodeCells.js';
import { lookMarkIn } from '../picture/lookMark.js';

/** JPEG by sharp, which takes long to load: only pictures need it. */
export const encodeJpeg: EncodeJpeg = async (samples, picture, quality) => {
  const { sharp } = await import('./sharpLoaders.js');
  const bytes = await sharp(samples, { raw: picture }).jpeg({ quality, chromaSubsampling: '4:4:4' }).toBuffer();
  return `data:image/jpeg;base64,${bytes.toString('base64')}`;
};

/** An SVG picture as PNG, with its look's mark in the EXIF. */
export async function pngOf(svg: string): Promise<Uint8Array> {
  const { svgToPng } = await import('./sharpLoaders.js');
  return svgToPng(svg, lookMarkIn(svg));
}
