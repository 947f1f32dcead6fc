import { beforeAll, describe, expect, it } from 'vitest';
import { DEGREE } from '../../src/geometry/angle.js';
import { apply, inverse } from '../../src/geometry/rotation.js';
import { type Vector, angleBetween, cross, dot, fromSpherical } from '../../src/geometry/vector.js';
import { readFrame } from '../../src/node/readFrame.js';
import { type Identification, identifyFrame } from '../../src/identify/identifyFrame.js';
import { toPixel } from '../../src/identify/lens.js';
import type { SearchHints, SearchMemory } from '../../src/identify/searchPose.js';
import { type StarCap, starCap } from '../../src/identify/starCap.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { detectStars } from '../../src/stars/detectStars.js';
import type { DetectedStar } from '../../src/stars/star.js';
import { type SkyFolder, type SkyFrameTruth, type SkyTruth, skyFolders, skyFramePaths, skyTruth } from '../skies.js';
import { catalogue, half } from './simulatedField.js';

interface Seen {
  readonly folder: SkyFolder;
  readonly truth: SkyTruth;
  readonly frame: SkyFrameTruth;
  readonly stars: readonly DetectedStar[];
  readonly width: number;
  readonly height: number;
  readonly cap: StarCap;
}

const seen: Seen[] = [];

beforeAll(async () => {
  for (const folder of skyFolders) {
    const truth = skyTruth(folder);
    const { latitudeDeg, longitudeDeg, elevationMetres, pressureHectopascal, temperatureCelsius } = truth.site;
    const site = makeSite({ latitudeDeg, longitudeDeg, elevationMetres, pressureHectopascal, temperatureCelsius });
    for (const [i, path] of skyFramePaths(folder).entries()) {
      const frame = await readFrame(path, {});
      const { width, height } = frame.image;
      const { stars } = detectStars(frame.image, { limit: 500 });
      const sky = makeLocalSky(frame.metadata.midExposure!.value, site);
      seen.push({ folder, truth, frame: truth.frames[i]!, stars, width, height, cap: starCap(half(latitudeDeg > 0 ? 1 : -1), sky) });
    }
  }
}, 120_000);

function identify({ stars, width, height, cap }: Seen, hints: SearchHints = {}, memory: SearchMemory = new Map()): Identification {
  const found = identifyFrame(stars, width, height, cap, hints, memory);
  expect(found).not.toBeNull();
  return found!;
}

function hint({ truth }: Seen): number {
  return (truth.focalLengthMillimetres * 1000) / truth.pixelMicrometres;
}

/** Four triangles of listed stars, those with the largest area in the picture: their sense of rotation is beyond doubt. */
function largestTriangles(stars: SkyFrameTruth['stars']): SkyFrameTruth['stars'][number][][] {
  const bright = stars.slice(0, 12);
  const area = ([a, b, c]: SkyFrameTruth['stars'][number][]): number =>
    Math.abs((b!.x - a!.x) * (c!.y - a!.y) - (b!.y - a!.y) * (c!.x - a!.x));
  return bright.flatMap((a, i) => bright.slice(i + 1).flatMap((b, j) => bright.slice(i + j + 2).map((c) => [a, b, c])))
    .sort((s, t) => area(t) - area(s)).slice(0, 4);
}

describe('frames rendered by other code', () => {
  it('are all identified without any hint, and the refracted pole falls within half a pixel of where it is', () => {
    // Rendered with ERFA's directions (testdata/skies/README.md): the pole's pixel tests pose, lens and sky together.
    for (const s of seen) {
      const { pose, lens } = identify(s);
      const pole = toPixel(lens, apply(inverse(pose), s.cap.centre))!;
      // Frames after a knob was turned or a clutch slipped have none in their truth.
      const told = s.frame.refractedPolePixel as SkyFrameTruth['refractedPolePixel'] | undefined;
      if (!told) continue;
      const [x, y] = told;
      expect(Math.hypot(pole.x - x, pole.y - y), `${s.folder} ${s.frame.file}`).toBeLessThan(0.5);
    }
  });

  it('pair detections with the stars they show: at least 98 in 100', () => {
    let right = 0;
    let wrong = 0;
    for (const s of seen) {
      const found = identify(s, { focalPixels: hint(s) });
      const listed = s.frame.stars.map((t) => ({ ...t, direction: fromSpherical(t.raDeg * DEGREE, t.decDeg * DEGREE) }));
      for (const star of found.stars) {
        const n = 3 * star.catalogue;
        const icrs: Vector = [catalogue.directions[n]!, catalogue.directions[n + 1]!, catalogue.directions[n + 2]!];
        const truth = listed.find((t) => angleBetween(t.direction, icrs) < 2 * DEGREE / 3600);
        const shown = listed.find((t) => Math.hypot(t.x - star.detection.x, t.y - star.detection.y) < 1.5);
        // The brightest stars are listed only: a faint one in an empty place can't be judged.
        if (!truth && !shown) continue;
        if (truth && truth === shown) right++;
        else wrong++;
      }
    }
    expect(right).toBeGreaterThan(1500);
    expect(wrong / (right + wrong)).toBeLessThan(0.02);
  });

  it('are identified with a hint that is a third too large or too small, to the same pose', () => {
    for (const s of seen.filter((_, i) => i % 3 === 0)) {
      const plain = identify(s);
      for (const factor of [1.3, 1 / 1.3]) {
        const other = identify(s, { focalPixels: hint(s) * factor });
        const axis: Vector = [0, 0, 1];
        expect(angleBetween(apply(plain.pose, axis), apply(other.pose, axis)) * plain.lens.focalPixels).toBeLessThan(0.1);
        expect(other.lens.mirrored).toBe(plain.lens.mirrored);
      }
    }
  });

  it('are identified with the lens of the first frame', () => {
    const memory: SearchMemory = new Map();
    for (const folder of skyFolders) {
      const [first, ...others] = seen.filter((s) => s.folder === folder);
      const { lens } = identify(first!);
      for (const s of others) expect(identify(s, { lens }, memory).stars.length).toBeGreaterThanOrEqual(8);
    }
  });

  it('tell which frames an odd number of mirrors made: those in which three listed stars run the other way round than on the sky', () => {
    const parities = new Set<boolean>();
    for (const s of seen) {
      const { mirrored } = identify(s, { focalPixels: hint(s) }).lens;
      const turns = largestTriangles(s.frame.stars).map((t) => {
        const d = t.map((star) => fromSpherical(star.raDeg * DEGREE, star.decDeg * DEGREE));
        const onSky = dot(d[0]!, cross(d[1]!, d[2]!));
        const inPicture = (t[1]!.x - t[0]!.x) * (t[2]!.y - t[0]!.y) - (t[1]!.y - t[0]!.y) * (t[2]!.x - t[0]!.x);
        return onSky * inPicture < 0;
      });
      expect(turns, `${s.folder} ${s.frame.file}`).toEqual(turns.map(() => mirrored));
      // FITS shows its first row at the bottom: a picture that looks like the sky is stored upside down.
      expect(mirrored).toBe(!s.truth.mirrored);
      parities.add(mirrored);
    }
    expect(parities.size).toBe(2);
  });

  it('are mirrored the other way when the picture is turned over, with the same direction in the middle', () => {
    for (const s of seen.filter((_, i) => i % 4 === 0)) {
      const plain = identify(s, { focalPixels: hint(s) });
      const turned = { ...s, stars: s.stars.map((d) => ({ ...d, x: s.width - 1 - d.x })) };
      const over = identify(turned, { focalPixels: hint(s) });
      expect(over.lens.mirrored).toBe(!plain.lens.mirrored);
      const axis: Vector = [0, 0, 1];
      expect(angleBetween(apply(plain.pose, axis), apply(over.pose, axis)) * plain.lens.focalPixels).toBeLessThan(0.1);
    }
  });

  it('need a radial term where the lens has distortion, and none in a telescope', () => {
    for (const s of seen) {
      const terms = identify(s, { focalPixels: hint(s) }).lens.radial.length;
      if (s.folder === 'wide-lens-south') expect(terms).toBeGreaterThan(0);
      if (s.folder === 'telescope-north') expect(terms).toBe(0);
    }
  });

  it('are not identified with the stars of the other pole', () => {
    for (const s of seen.filter((_, i) => i % 16 === 0)) {
      const other = starCap(half(s.truth.site.latitudeDeg > 0 ? -1 : 1), makeLocalSky(new Date(s.frame.startUtc), null));
      expect(identifyFrame(s.stars, s.width, s.height, other)).toBeNull();
    }
  });
});
