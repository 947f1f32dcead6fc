/**
 * Places in the picture against astropy's WCS (testdata/pictures/make.py: world coordinates from `inspect --wcs`, stars by their J2000
 * places) and against the truth of frames that other code rendered (testdata/skies).
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { wellFormed, withClass } from '../picture/markupTools.js';
import { skyFramePaths, skyTruth } from '../skies.js';
import { poleward, scratchFolder } from './poleward.js';

const astropy = JSON.parse(readFileSync(
  new URL('../../testdata/pictures/astropy.json', import.meta.url), 'utf8',
)) as Record<'guide-north' | 'two-frames-mirrored', [number, number][]>;

describe.each(['guide-north', 'two-frames-mirrored'] as const)('the picture of %s', (folder) => {
  const { site, frames } = skyTruth(folder);
  const picture = join(scratchFolder(), 'night.svg');
  const ran = poleward('measure', ...skyFramePaths(folder), '--picture', picture, '--aim', 'refracted',
    '--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`);
  const truth = frames.at(-1)!;
  // A FITS frame is shown with its first row at the bottom: y of the picture runs against the rows.
  const document = wellFormed(readFileSync(picture, 'utf8'));
  const drawing = Array.from(document.getElementsByTagName('image'))[0]!.parentNode as unknown as { getAttribute(name: string): string };
  const [, , width, height] = drawing.getAttribute('viewBox').split(' ').map(Number);
  const json = JSON.parse(
    poleward('measure', ...skyFramePaths(folder), '--json', '--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`).out,
  ) as { frames: { mirrored: boolean }[] };
  const pixel = ([cx, cy]: readonly [number, number]): [number, number] => {
    const unit = width! / PIXELS[folder].width;
    return [cx / unit - 0.5, PIXELS[folder].height - 0.5 - cy / unit];
  };
  const rings = withClass(document, 'stars')[0]!;
  const circles = Array.from(rings.getElementsByTagName('circle')).map(
    (c) => pixel([Number(c.getAttribute('cx')), Number(c.getAttribute('cy'))]),
  );

  test('is made', () => {
    expect(ran.status, ran.err).toBe(0);
    expect(height! / width!).toBeCloseTo(PIXELS[folder].height / PIXELS[folder].width, 4);
  });

  test('rings each star where astropy finds it', () => {
    expect(circles.length).toBeGreaterThan(40);
    const away = circles.map(([x, y]) => Math.min(...astropy[folder].map(([ax, ay]) => Math.hypot(x - ax, y - ay))));
    const near = away.filter((d) => d < 1).sort((a, b) => a - b);
    // truth.json lists the 150 brightest; recognised ones may be fainter. Star centroids scatter, and stars have moved since 2000.
    expect(near.length / away.length).toBeGreaterThan(0.9);
    expect(near[Math.floor(near.length / 2)]!).toBeLessThan(0.2);
    // Were it upside down or half a pixel off, nothing would fit.
    const flipped = circles.map(
      ([x, y]) => Math.min(...astropy[folder].map(([ax, ay]) => Math.hypot(x - ax, PIXELS[folder].height - 1 - y - ay))),
    );
    expect(flipped.filter((d) => d < 1).length / flipped.length).toBeLessThan(0.2);
  });

  test('has axis and pole where the frame was rendered with them', () => {
    const centreOf = (name: string): [number, number] => {
      const numbers = [...withClass(document, name)[0]!.getAttribute('d')!.matchAll(/M(-?[\d.]+) (-?[\d.]+)/g)].map(
        (m) => [Number(m[1]), Number(m[2])] as const,
      );
      // The diamond begins 15 above its middle; the pole's first stroke 18 to the left of its.
      return pixel(name === 'rotation-centre' ? [numbers[0]![0], numbers[0]![1] + 15] : [numbers[0]![0] + 18, numbers[0]![1]]);
    };
    for (const [name, [x, y]] of [['rotation-centre', truth.axisPixel], ['pole', truth.refractedPolePixel]] as const) {
      const drawn = centreOf(name);
      expect(Math.hypot(drawn[0] - x, drawn[1] - y), name).toBeLessThan(0.3);
    }
  });

  test('shows east left of north unless the answer calls the frame mirrored', () => {
    const hand = (says: string): [number, number] => {
      const [, x, y, tx, ty] = /M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)/.exec(
        withClass(document, `toward-${says}`)[0]!.getAttribute('d')!,
      )!.map(Number);
      return [tx! - x!, ty! - y!];
    };
    const [nx, ny] = hand('N'), [ex, ey] = hand('E');
    // As seen, y down: from north to east is counter-clockwise in the sky.
    expect(nx * ey - ny * ex < 0).toBe(!json.frames.at(-1)!.mirrored);
  });
});

/** Sizes of the frames, as testdata/skies has them. */
const PIXELS = { 'guide-north': { width: 800, height: 600 }, 'two-frames-mirrored': { width: 800, height: 600 } } as const;
