/** Frames that do not show the pole, through the built command line: measured, inspected, verified; wrong hints; pictures of no sky. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Card } from '../../src/frames/fitsHeader.js';
import type { Image } from '../../src/frames/frame.js';
import { DEGREE } from '../../src/geometry/angle.js';
import { angleBetween, fromSpherical, unit } from '../../src/geometry/vector.js';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { planNight, renderFrame } from '../../src/simulate/night.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { pointedPlan } from '../../src/simulate/trackedPlan.js';
import { makeLocalSky } from '../../src/sky/localSky.js';
import { makeSite } from '../../src/sky/site.js';
import { type Ran, SITE_WORDS, poleward, scratchFolder, strewnStars } from './poleward.js';

interface Inspection {
  readonly centre: { readonly raDeg: number; readonly decDeg: number } | null;
  readonly mirrored: boolean | null;
  readonly where: { readonly constellation: string; readonly poleAwayDeg: number; readonly altitudeDeg?: number } | null;
}

const folder = scratchFolder();
const house = [1, 2, 3].map((k) => join(folder, 'house', `frame-${k}.fits`));
const LENS = ['--focal-length', '105', '--pixel-size', '5.6'];

/** A frame of 7° toward the east, 28° high, in Orion; what it shows is known. */
const SITE = makeSite({ latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 });
const plan = pointedPlan({
  ...ordinaryNight(SITE, new Date('2026-11-25T20:00:00Z')), width: 800, height: 600, focalLengthMillimetres: 35, pixelSizeMicrometres: 5.6,
  rotationsDeg: [0], pointingOffsetDeg: 0, seed: 'east',
}, { declinationDeg: 10, hourAngleHours: -4 });
const { image, truth } = renderFrame(planNight(plan, embeddedCatalogue()), 0);
const toward = makeLocalSky(truth.midUtc, SITE).fromLocal([truth.pose[2], truth.pose[5], truth.pose[8]]);
const TIME = ['DATE-OBS', '2026-11-25T20:00:00'] as const;

function written(name: string, picture: Image, cards: readonly Card[] = []): string {
  const path = join(folder, name);
  writeFileSync(path, fitsFile(picture, [TIME, ...cards]));
  return path;
}

/** The same picture with other pixels. */
function changed(value: (data: ArrayLike<number>, x: number, y: number) => number): Image {
  const { width, height, data } = image;
  const out = Uint16Array.from({ length: width * height }, (_, i) => value(data, i % width, Math.floor(i / width)));
  return { ...image, data: out, ceiling: 65535 };
}

function inspected(ran: Ran): Inspection {
  return JSON.parse(ran.out) as Inspection;
}

function offDeg({ centre }: Inspection): number {
  return angleBetween(fromSpherical(centre!.raDeg * DEGREE, centre!.decDeg * DEGREE), unit(toward)) / DEGREE;
}

describe('a mount behind a house', () => {
  beforeAll(() => {
    const made = poleward(
      'simulate', '--out', join(folder, 'house'), '--toward', '20,-2', '--rotations', '0,-25,-50', '--altitude-error', '40',
      '--azimuth-error', '-55', '--size', '800x600', '--exposure', '6', ...LENS,
    );
    expect(made).toMatchObject({ status: 0, err: '' });
  }, 120_000);

  it('is measured, within four of its sigmas, even with a place said that is wrong by 90°', () => {
    const answers = [['--near', '3.1,23'], ['--near', '14.0,-20']].map((near) => {
      const ran = poleward('measure', ...house, ...near, '--json');
      expect(ran.status).toBe(0);
      return (JSON.parse(ran.out) as { axis: Record<'fromTruePole' | 'fromRefractedPole' | 'sigma', Record<string, number>> }).axis;
    });
    for (const { fromTruePole, sigma } of answers) {
      expect(Math.abs(fromTruePole['altitudeArcmin']! - 40)).toBeLessThan(4 * sigma['altitudeArcmin']! + 0.1);
      expect(Math.abs(fromTruePole['azimuthArcmin']! + 55)).toBeLessThan(4 * sigma['azimuthArcmin']!);
    }
  }, 180_000);

  it('with one frame alone: the refusal says where that one looks', () => {
    const ran = poleward('measure', house[0]!);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err.replace(/\s+/g, ' ')).toMatch(/One frame alone does not show the axis\..* The frame looks \d\d\.\d° high toward the /);
  }, 60_000);
});

describe('inspect is a plate solver', () => {
  it('needs no site and no pole; world coordinates go to a file', () => {
    const path = written('east.fits', image);
    const wcs = join(folder, 'east.wcs');
    const found = inspected(poleward('inspect', path, '--wcs', wcs, '--near', '5.5,4', '--json'));
    expect(offDeg(found)).toBeLessThan(0.01);
    expect(found.where!.constellation).toMatch(/^(Orion|Taurus)$/);
    expect(found.where!.poleAwayDeg).toBeCloseTo(90 - found.centre!.decDeg, 0);
    expect(found.where!.altitudeDeg).toBeUndefined();
    expect(readFileSync(wcs, 'latin1')).toContain('CRVAL1');
  }, 60_000);

  it('says where the camera looks over a site', () => {
    const ran = poleward('inspect', written('east again.fits', image), '--near', '5.5,4', ...SITE_WORDS);
    expect(ran.out.replace(/\s+/g, ' ')).toMatch(/looks \d\d\.\d° high toward the \S+ \(azimuth \d+\.\d°\), in \w+; the pole is/);
  }, 60_000);
});

describe('pictures of another kind are recognised rightly or refused', () => {
  const sorted = Float64Array.from(image.data).sort();
  const [low, middle, high] = [sorted[0]!, sorted[sorted.length >> 1]!, sorted.at(-1)!];
  const pictures: [string, Image, 'right' | 'refused' | 'either'][] = [
    ['mirrored', changed((data, x, y) => data[y * 800 + 799 - x]!), 'right'],
    ['of eight bits, the black sky clipped at zero',
      changed((data, x, y) => Math.min(255, Math.max(0, (data[y * 800 + x]! - middle) >> 4))), 'right'],
    ['negative', changed((data, x, y) => high + low - data[y * 800 + x]!), 'refused'],
    ['of the Moon', { ...strewnStars(800, 600, 3, 5), data: moon() }, 'refused'],
    ['of a chart: stars as black spots on white, with a grid', chart(), 'either'],
  ];

  it.each(pictures)('%s', (name, picture, expected) => {
    const near = expected === 'right' ? ['--near', '5.5,4'] : [];
    const ran = poleward('inspect', written(`${name.slice(0, 9)}.fits`, picture), ...near, '--json');
    const found = ran.status === 0 ? inspected(ran) : null;
    if (expected === 'right') expect(found?.centre).toBeTruthy();
    if (expected === 'refused') expect(found?.centre ?? null).toBeNull();
    if (found?.centre) expect(offDeg(found)).toBeLessThan(0.05);
  }, 120_000);

  function moon(): Uint16Array {
    const { data } = strewnStars(800, 600, 3, 5);
    return Uint16Array.from({ length: 800 * 600 }, (_, i) => {
      const r = Math.hypot((i % 800) - 380, Math.floor(i / 800) - 300);
      const crater = 1 + 0.3 * Math.sin((i % 800) / 7) * Math.sin(Math.floor(i / 800) / 9);
      return r < 140 ? Math.round(30000 * crater) : data[i]! + Math.round(20000 / (1 + ((r - 140) / 12) ** 2));
    });
  }

  function chart(): Image {
    const data = new Uint16Array(800 * 600).fill(60000);
    for (let i = 0; i < data.length; i++) if (i % 800 % 80 === 0 || Math.floor(i / 800) % 80 === 0) data[i] = 40000;
    for (let s = 0; s < truth.stars.count; s++) {
      const size = Math.min(6, 0.4 * Math.log10(truth.stars.electrons[s]! + 1) ** 1.6 - 2);
      for (let y = -6; y <= 6; y++) {
        for (let x = -6; x <= 6; x++) {
          const at = Math.round(truth.stars.y[s]! + y) * 800 + Math.round(truth.stars.x[s]! + x);
          if (Math.hypot(x, y) <= size && at >= 0 && at < data.length) data[at] = 2000;
        }
      }
    }
    return { width: 800, height: 600, data, ceiling: 65535 };
  }
});

describe('a header that is wrong', () => {
  it('in hours where degrees are meant, in degrees where hours are meant, or 90° off, misleads nobody', () => {
    const cards = frameCards(plan, truth.startUtc).filter(([keyword]) => keyword !== 'DATE-OBS' && !keyword.startsWith('SITE'));
    const ra = (Math.atan2(toward[1], toward[0]) / DEGREE + 360) % 360, dec = Math.asin(toward[2]) / DEGREE;
    const wrong: Card[][] = [
      [['RA', ra / 15], ['DEC', dec]], [['OBJCTRA', `${Math.floor(ra)} 40 00`], ['OBJCTDEC', '+10 00 00']],
      [['RA', (ra + 90) % 360], ['DEC', -dec]],
    ];
    for (const [i, place] of wrong.entries()) {
      const ran = poleward('inspect', written(`wrong ${i}.fits`, image, [...cards, ...place]), '--json');
      expect(offDeg(inspected(ran)), String(place[0])).toBeLessThan(0.01);
    }
  }, 240_000);
});

describe('verify', () => {
  it('finds pointing, position angle and parity by itself', () => {
    const run = join(folder, 'run');
    const frames = [1, 2, 3, 4].map((k) => join(run, `frame-${k}.fits`));
    poleward(
      'simulate', '--out', run, '--target', '25,-2', '--frames', '4', '--altitude-error', '12', '--azimuth-error', '-9',
      '--size', '900x700', '--focal-length', '150', '--pixel-size', '5', '--exposure', '20', '--interval', '300',
    );
    for (const path of frames) blankPlace(path);
    const v = JSON.parse(poleward('verify', '--unguided', '--no-session', '--json', ...frames).out) as {
      missing: string[]; target: { declinationDeg: number; from: string; constellation: string };
      impliedAxis: Record<'fromTruePole' | 'sigma', Record<string, number>>;
    };
    expect(v.missing).toEqual([]);
    expect(v.target.from).toBe('its stars');
    expect(v.target.declinationDeg).toBeCloseTo(25, 0);
    const { fromTruePole, sigma } = v.impliedAxis;
    expect(Math.abs(fromTruePole['altitudeArcmin']! - 12)).toBeLessThan(4 * sigma['altitudeArcmin']!);
    expect(Math.abs(fromTruePole['azimuthArcmin']! + 9)).toBeLessThan(4 * sigma['azimuthArcmin']!);
  }, 180_000);

  /** World coordinates are blanked as comments, card by card. */
  function blankPlace(path: string): void {
    const bytes = readFileSync(path);
    for (let at = 0; at < 2880 * 12; at += 80) {
      const keyword = bytes.toString('latin1', at, at + 8);
      if (keyword.startsWith('END')) break;
      if (/^(CTYPE|CRVAL|CRPIX|CD\d_|A_|B_)/.test(keyword)) bytes.write('COMMENT '.padEnd(80), at, 'latin1');
    }
    writeFileSync(path, bytes);
  }
});
