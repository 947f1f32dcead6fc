import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { angleBetween, fromSpherical, unit } from '../../src/geometry/vector.js';
import {
  DEGREE, type Rotation, atOnce, axisFromPoses, detectStars, embeddedCatalogue, emptySkyMemory, identifyAnywhere, makeLocalSky, readFrame,
} from '../../src/index.js';

interface Truth {
  readonly pictures: Record<string, { readonly raDeg: number; readonly decDeg: number; readonly fieldWidthDeg: number }>;
  readonly axis: { readonly raDeg: number; readonly decDeg: number };
}

/** Four real pictures that lie beside the repository and are no part of it (their README tells whose they are). */
const folder = fileURLToPath(new URL('../../../shared/real/', import.meta.url));

describe.skipIf(!existsSync(`${folder}truth.json`))('real pictures, against where another solver says they look (truth.json)', () => {
  const poses: Rotation[] = [];
  // Their time is nominal; without a site directions are relative to the Earth's equator, so any time serves.
  const local = makeLocalSky(new Date('2019-07-29T20:47:26Z'), null);
  const truth = existsSync(`${folder}truth.json`) ? JSON.parse(readFileSync(`${folder}truth.json`, 'utf8')) as Truth : null;

  it('are recognised without any hint: centre within 0.02°, field within 0.5 %', async () => {
    const memory = emptySkyMemory();
    for (const [file, told] of Object.entries(truth!.pictures)) {
      const { image } = await readFrame(`${folder}${file}`, {});
      const { stars } = detectStars(image, { limit: 500 });
      const found = atOnce(identifyAnywhere(stars, image.width, image.height, embeddedCatalogue(), local, {}, memory));
      expect(found, file).not.toBeNull();
      const { pose, lens, stars: identified } = found!.identification;
      const axis = unit(local.fromLocal([pose[2], pose[5], pose[8]]));
      expect(angleBetween(axis, fromSpherical(told.raDeg * DEGREE, told.decDeg * DEGREE)) / DEGREE, file).toBeLessThan(0.02);
      const width = (2 * Math.atan(image.width / 2 / lens.focalPixels)) / DEGREE;
      expect(Math.abs(width / told.fieldWidthDeg - 1), file).toBeLessThan(0.005);
      expect(identified.length, file).toBeGreaterThan(50);
      if (file.endsWith('.jpg')) poses.push(pose);
    }
  });

  it('turned about one line: the given one within a quarter of a degree', () => {
    // The sky turned for a few minutes meanwhile; the given error includes that, and the mount's play.
    expect(poses).toHaveLength(4);
    const given = fromSpherical(truth!.axis.raDeg * DEGREE, truth!.axis.decDeg * DEGREE);
    const turns = axisFromPoses(poses, local.toLocal(given));
    expect(angleBetween(unit(local.fromLocal(turns.axis)), given) / DEGREE).toBeLessThan(0.25);
    expect(turns.largest / DEGREE).toBeGreaterThan(80);
  });
});
