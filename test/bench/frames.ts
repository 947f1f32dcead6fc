/** Large frames to time with, rendered once into testdata/.cache/bench (ignored by git). */
import { existsSync, mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { ordinaryNight, skylight, starlight } from '../../src/simulate/nightPlan.js';
import { makeSite } from '../../src/sky/site.js';

export const benchCache = fileURLToPath(new URL('../../testdata/.cache/bench/', import.meta.url));

/**
 * Paths of `count` frames of width x height pixels: a 75 mm refractor of 400 mm with 3.9 µm pixels (200 mm for small sensors, so that the
 * field holds catalogue stars enough), turned 15° from frame to frame.
 */
export function benchFrames(width: number, height: number, count: number): string[] {
  mkdirSync(benchCache, { recursive: true });
  const focalLengthMillimetres = width < 2000 ? 200 : 400;
  const paths = Array.from({ length: count }, (_, i) => join(benchCache, `${width}x${height}-${focalLengthMillimetres}mm-${i + 1}.fits`));
  if (paths.every((path) => existsSync(path))) return paths;
  const site = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });
  const electronsAtMagnitude0 = starlight(75);
  const plan = {
    ...ordinaryNight(site, new Date('2026-11-25T20:00:00Z')),
    width, height, exposureSeconds: 8, focalLengthMillimetres, pixelSizeMicrometres: 3.9, electronsAtMagnitude0,
    skyElectrons: skylight(20.5, electronsAtMagnitude0, 8, 2.01), fwhmPixels: 2.6, altitudeErrorArcmin: 9, azimuthErrorArcmin: -14,
    rotationsDeg: Array.from({ length: count }, (_, i) => 15 * i),
  };
  const night = planNight(plan, embeddedCatalogue());
  paths.forEach((path, i) => {
    if (existsSync(path)) return;
    process.stderr.write(`rendering ${path}\n`);
    const { image, truth } = renderFrame(night, i);
    writeFileSync(`${path}.part`, fitsFile(image, frameCards(plan, truth.startUtc)));
    renameSync(`${path}.part`, path);
  });
  return paths;
}
