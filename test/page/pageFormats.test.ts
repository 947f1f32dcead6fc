/** Kinds of files in the page against the command line: to the last digit where the pixels are the same, else within the answer's error. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { MeasurementRecord } from '../../src/night/record/entry.js';
import { readFrame } from '../../src/node/readFrame.js';
import { startsOf } from '../cli/otherTimes.js';
import { poleward, scratchFolder } from '../cli/poleward.js';
import { dngBytes } from '../frames/dngBytes.js';
import { type Tag, tiffBytes } from '../frames/tiffBytes.js';
import { chromiumPath, openBrowser } from '../panel/browser.js';
import { type OpenPage, answersOf, give, openPage } from './openPage.js';
import { SINGLE } from './pageServer.js';

interface Grey { readonly width: number; readonly height: number; readonly data: Uint16Array; readonly clock: string }

const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));
const EXPOSURE = 3;

describe.skipIf(chromiumPath === null)('kinds of files in the page', () => {
  let browser: Browser;
  let open: OpenPage;
  let greys: Grey[];

  beforeAll(async () => {
    const starts = startsOf(DEMO);
    greys = await Promise.all(DEMO.map(async (path, i): Promise<Grey> => {
      const { image: { width, height, data } } = await readFrame(path);
      const clock = starts[i]!.slice(0, 19).replaceAll('-', ':').replace('T', ' ');
      return { width, height, data: Uint16Array.from(data), clock };
    }));
    browser = await openBrowser();
    open = await openPage(browser, SINGLE);
  }, 300_000);
  afterAll(async () => {
    await browser.close();
  });

  const exif = ({ clock }: Grey) => ({
    IFD2: { DateTimeOriginal: clock, OffsetTimeOriginal: '+00:00', ExposureTime: `${Math.round(EXPOSURE * 1000)}/1000` },
  });
  const grey16 = (grey: Grey) => sharp(grey.data, { raw: { width: grey.width, height: grey.height, channels: 1 } })
    .toColourspace('grey16').withExif(exif(grey));
  const grey8 = (grey: Grey) => {
    const sky = [...grey.data.subarray(0, 4001)].sort((a, b) => a - b)[2000]!;
    const samples = Uint8Array.from(grey.data, (value) => Math.max(0, Math.min(255, 40 + (value - sky) / 4)));
    return sharp(samples, { raw: { width: grey.width, height: grey.height, channels: 1 } }).withExif(exif(grey));
  };
  const tags = ({ clock }: Grey): Tag[] => [
    [36867, 2, clock], [36881, 2, '+00:00'], [33434, 5, [Math.round(EXPOSURE * 1000), 1000]],
  ];

  async function bothAnswers(files: readonly (readonly [name: string, bytes: Buffer])[]): Promise<[MeasurementRecord, MeasurementRecord]> {
    const folder = scratchFolder();
    const paths = files.map(([name, bytes]) => {
      writeFileSync(join(folder, name), bytes);
      return join(folder, name);
    });
    const ran = poleward('measure', ...paths, '--json');
    expect(ran.status, ran.err).toBe(0);
    const { page, complaints } = open;
    await give(page, paths, files.length);
    const [answer] = await answersOf(page);
    // These files carry no place, so it has no altitude and no azimuth.
    expect(await page.locator('#sure').textContent()).toMatch(/^21\.9\d′ ± \d\.\d″ off the refracted pole$/);
    expect(await page.locator('#next').textContent()).toMatch(/^Give latitude and longitude \(Setup, place\)/);
    expect(complaints).toEqual([]);
    await page.evaluate(() => { document.getElementById('newNight')!.click(); });
    await page.locator('html[data-looks="0"]').waitFor({ state: 'attached' });
    return [answer!, JSON.parse(ran.out) as MeasurementRecord];
  }

  test('16-bit PNG, TIFF and camera raw: the same pixels, the same answer', async () => {
    const [a, b, c] = greys as [Grey, Grey, Grey];
    const [ours, theirs] = await bothAnswers([
      ['a.png', await grey16(a).png().toBuffer()],
      ['b.tif', tiffBytes(b.width, b.height, 16, Buffer.from(b.data.buffer), tags(b))],
      ['c.dng', dngBytes({ ...c, whiteLevel: 65535, exif: tags(c) })],
    ]);
    expect(ours.axis).toEqual(theirs.axis);
    expect(ours.warnings.map((w) => w.code)).toEqual(theirs.warnings.map((w) => w.code));
  });

  test('JPEG, WebP and AVIF by the browser: the same within what their packing lost', async () => {
    const [a, b, c] = greys as [Grey, Grey, Grey];
    const [ours, theirs] = await bothAnswers([
      ['a.jpg', await grey8(a).withMetadata({ orientation: 6 }).withExifMerge(exif(a)).jpeg({ quality: 95 }).toBuffer()],
      ['b.webp', await grey8(b).webp({ quality: 95 }).toBuffer()],
      ['c.avif', await grey8(c).avif({ quality: 80, effort: 1 }).toBuffer()],
    ]);
    const off = Math.abs(ours.axis.fromRefractedPole.separationArcmin - theirs.axis.fromRefractedPole.separationArcmin);
    expect(off).toBeLessThan(Math.max(0.01, 2 * theirs.axis.sigma.separationArcmin));
    expect(ours.frames.map((f) => [f['identified'] !== 0, f.utc])).toEqual(theirs.frames.map((f) => [f['identified'] !== 0, f.utc]));
  });
});
