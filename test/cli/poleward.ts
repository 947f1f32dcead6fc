import { spawnSync } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import type { Image } from '../../src/frames/frame.js';
import { makeSite } from '../../src/sky/site.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { type NightPlan, ordinaryNight } from '../../src/simulate/nightPlan.js';
import { generator } from '../axis/sightings.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

export interface Ran {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs the built command line, as a person would, and takes what it says. `measure` records only if a session is named. */
export function poleward(...words: string[]): Ran {
  const silent = words[0] === 'measure' && !words.includes('--session') ? ['--no-session'] : [];
  const ran = spawnSync(process.execPath, [main, ...words, ...silent], { encoding: 'utf8', timeout: 180_000 });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
}

/** A new folder that nothing else uses. */
export function scratchFolder(): string {
  return mkdtempSync(join(tmpdir(), 'poleward test '));
}

/** Invented site of the tests: `SITE_WORDS` says it on the command line. */
export const SITE_WORDS = ['--latitude', '46.5', '--longitude', '11.2', '--elevation', '1200'];
const SITE = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });

/** Writes the frames of an invented night and returns their paths. The header holds no site if `bare`. */
export function writeNight(
  folder: string, change: Partial<NightPlan>, bare: readonly string[] = ['SITELAT', 'SITELONG', 'SITEELEV'],
): string[] {
  const plan = { ...ordinaryNight(SITE, new Date('2026-11-25T20:00:00Z')), ...change };
  const night = planNight(plan, embeddedCatalogue());
  return plan.rotationsDeg.map((_, i) => {
    const { image, truth } = renderFrame(night, i);
    const path = join(folder, `frame ${i + 1}.fits`);
    writeFileSync(path, fitsFile(image, frameCards(plan, truth.startUtc).filter(([keyword]) => !bare.includes(keyword))));
    return path;
  });
}

/** A picture of noise with stars strewn at random, as no part of the sky has them. */
export function strewnStars(width: number, height: number, count: number, seed: number): Image {
  const { uniform, normal } = generator(seed);
  const data = Uint16Array.from({ length: width * height }, () => Math.round(1000 + 12 * normal()));
  for (let n = 0; n < count; n++) {
    const x = 8 + uniform() * (width - 16), y = 8 + uniform() * (height - 16), peak = 150 + 8000 * uniform() ** 4;
    for (let r = Math.floor(y) - 6; r <= y + 7; r++) {
      for (let c = Math.floor(x) - 6; c <= x + 7; c++) {
        data[r * width + c]! += Math.round(peak * Math.exp(-((c - x) ** 2 + (r - y) ** 2) / 2));
      }
    }
  }
  return { width, height, data, ceiling: 65535 };
}
