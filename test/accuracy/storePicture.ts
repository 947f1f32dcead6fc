/** Saves a rendered frame as people do. */
import { writeFile } from 'node:fs/promises';
import sharp from 'sharp';
import type { Image } from '../../src/frames/frame.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import type { NightPlan } from '../../src/simulate/nightPlan.js';

export type Stored = 'fits' | 'jpeg' | 'asinh 8' | 'gamma 8' | 'asinh 16' | 'gamma 16';

/**
 * Writes the picture to `path` without its ending, and returns the whole name. JPEG: colour, gamma as cameras', quality 60, colours at
 * half resolution. Stretched: black clipped a little below the sky, then arcsinh or gamma to the full range, PNG.
 */
export async function storePicture(image: Image, plan: NightPlan, startUtc: Date, stored: Stored, path: string): Promise<string> {
  if (stored === 'fits') {
    await writeFile(`${path}.fits`, fitsFile(image, frameCards(plan, startUtc)));
    return `${path}.fits`;
  }
  const { width, height } = image;
  const raw = (channels: 1 | 3): { raw: { width: number; height: number; channels: 1 | 3 } } => ({ raw: { width, height, channels } });
  const noise = Math.sqrt(plan.skyElectrons + plan.readNoise ** 2) / plan.electronsPerAdu;
  const black = stored === 'jpeg' ? plan.biasAdu : plan.biasAdu + plan.skyElectrons / plan.electronsPerAdu - 4 * noise;
  const most = Math.min(image.ceiling ?? 65535, plan.fullWell / plan.electronsPerAdu + plan.biasAdu) - black;
  const asinh = stored.startsWith('asinh');
  const curve = (value: number): number => {
    const light = Math.min(1, Math.max(0, (value - black) / most));
    return asinh ? Math.asinh((light * most) / (3 * noise)) / Math.asinh(most / (3 * noise)) : Math.pow(light, 1 / 2.2);
  };
  if (stored.endsWith('16')) {
    const grey = Uint16Array.from(image.data, (v) => Math.round(65535 * curve(v)));
    await sharp(grey, raw(1)).toColourspace('grey16').png().toFile(`${path}.png`);
    return `${path}.png`;
  }
  const grey = Uint8Array.from(image.data, (v) => Math.round(255 * curve(v)));
  if (stored === 'jpeg') {
    const rgb = new Uint8Array(3 * grey.length);
    for (let i = 0; i < grey.length; i++) rgb.fill(grey[i]!, 3 * i, 3 * i + 3);
    await sharp(rgb, raw(3)).jpeg({ quality: 60 }).toFile(`${path}.jpg`);
    return `${path}.jpg`;
  }
  await sharp(grey, raw(1)).toColourspace('b-w').png().toFile(`${path}.png`);
  return `${path}.png`;
}
