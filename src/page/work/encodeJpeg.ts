import type { EncodeJpeg } from '../../picture/encodeCells.js';

/** JPEG by the browser. */
export const encodeJpeg: EncodeJpeg = async (samples, { width, height, channels }, quality) => {
  const canvas = new OffscreenCanvas(width, height);
  const brush = canvas.getContext('2d');
  if (!brush) throw new RangeError('no canvas of this size');
  const picture = brush.createImageData(width, height);
  for (let i = 0, at = 0; i < width * height; i++, at += 4) {
    picture.data[at] = samples[i * channels]!;
    picture.data[at + 1] = samples[i * channels + (channels === 3 ? 1 : 0)]!;
    picture.data[at + 2] = samples[i * channels + (channels === 3 ? 2 : 0)]!;
    picture.data[at + 3] = 255;
  }
  brush.putImageData(picture, 0, 0);
  const bytes = new Uint8Array(await (await canvas.convertToBlob({ type: 'image/jpeg', quality: quality / 100 })).arrayBuffer());
  let text = '';
  for (let at = 0; at < bytes.length; at += 4096) text += String.fromCharCode(...bytes.subarray(at, at + 4096));
  return `data:image/jpeg;base64,${btoa(text)}`;
};
