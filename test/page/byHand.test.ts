/** What hands and browser do to the page: a word to stop in the middle of one frame, two fingers, a newer version, HEIC. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { fitsFile } from '../../src/simulate/fitsFile.js';
import { scratchFolder } from '../cli/poleward.js';
import { chromiumPath, openBrowser } from '../panel/browser.js';
import { type OpenPage, PHONE, give, openPage, ready } from './openPage.js';
import { servePage } from './pageServer.js';

const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));

describe.skipIf(chromiumPath === null)('the page by hand', () => {
  let browser: Browser;
  let server: Awaited<ReturnType<typeof servePage>>;
  let open: OpenPage;
  let page: Page;
  let version = '';

  beforeAll(async () => {
    const newer = (name: string, bytes: Buffer): Buffer =>
      (name === 'service.js' ? Buffer.concat([bytes, Buffer.from(`\n// ${version}`)]) : bytes);
    [browser, server] = await Promise.all([openBrowser(), servePage(newer)]);
    open = await openPage(browser, server.url, PHONE, await browser.newContext({ viewport: PHONE, hasTouch: true }));
    ({ page } = open);
  }, 300_000);
  afterAll(async () => {
    server.stop();
    await browser.close();
  });

  test('a word to stop is heard in the middle of one frame; what comes after is answered', async () => {
    const slow = join(scratchFolder(), 'slow.fits.gz');
    // A second of work in a hundred kilobytes.
    const [width, height] = [6000, 4000];
    writeFileSync(slow, gzipSync(fitsFile({ width, height, data: new Uint16Array(width * height), ceiling: 65535 }, []), { level: 1 }));
    await page.setInputFiles('#pick', slow);
    await page.getByText('frames read: 0 of 1').waitFor();
    await page.click('#stop');
    await page.getByText('Stopped. Earlier answers stand.').waitFor();
    expect(await page.locator('html').getAttribute('data-looks')).toBe('0');
    await give(page, DEMO, 3);
    expect(await page.locator('#verdict').textContent()).toMatch(/^azimuth first/);
  });

  test('two fingers bring the picture closer and take it back, one moves it', async () => {
    await page.locator('#pictureImage[src^="blob:"]').waitFor();
    await page.locator('#pictureFrame').scrollIntoViewIfNeeded();
    const { x, y, width, height } = (await page.locator('#pictureFrame').boundingBox())!;
    const [cx, cy] = [x + width / 2, y + height / 2];
    const session = await page.context().newCDPSession(page);
    const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', points: readonly (readonly [number, number])[]): Promise<unknown> =>
      session.send('Input.dispatchTouchEvent', { type, touchPoints: points.map(([px, py], id) => ({ x: px, y: py, id })) });
    const pinch = async (from: number, to: number): Promise<void> => {
      await touch('touchStart', [[cx - from, cy], [cx + from, cy]]);
      for (let n = 1; n <= 5; n++) {
        const apart = from + (to - from) * n / 5;
        await touch('touchMove', [[cx - apart, cy], [cx + apart, cy]]);
      }
      await touch('touchEnd', []);
    };
    const shown = (): Promise<{ scale: number; x: number }> => page.evaluate(() => {
      const { a, e } = new DOMMatrix(document.getElementById('pictureImage')!.style.transform);
      return { scale: a, x: e };
    });
    await pinch(20, 60);
    const closer = await shown();
    expect(closer.scale).toBeGreaterThan(2.5);
    expect(closer.scale).toBeLessThan(3.5);
    // The middle stays where it is.
    expect(Math.abs(closer.x - width / 2 * (1 - closer.scale))).toBeLessThan(0.1 * width);
    await touch('touchStart', [[cx, cy]]);
    for (const dx of [10, 20, 30]) await touch('touchMove', [[cx + dx, cy]]);
    await touch('touchEnd', []);
    const moved = await shown();
    expect([moved.scale, Math.round(moved.x - closer.x)]).toEqual([closer.scale, 30]);
    await pinch(80, 20);
    expect((await shown()).scale).toBe(1);
  });

  test('HEIC is left to the browser\'s decoder; where that knows none of it a sentence says what to do', async () => {
    const folder = scratchFolder();
    const clock = { IFD2: { DateTimeOriginal: '2026:11:25 20:00:00', OffsetTimeOriginal: '+00:00' } };
    const avif = await sharp({ create: { width: 400, height: 300, channels: 3, background: '#101010' } }).withExif(clock)
      .avif({ effort: 0 }).toBuffer();
    // By its first brand HEIC; by the others, and within, what this browser can unpack.
    avif.write('heic', 8, 'latin1');
    writeFileSync(join(folder, 'known.heic'), avif);
    const box = Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic\0\0\0\0mif1heic', 'latin1')]);
    writeFileSync(join(folder, 'unknown.heic'), Buffer.concat([box, avif.subarray(avif.readUInt32BE(0))]));
    await page.setInputFiles('#pick', [join(folder, 'known.heic'), join(folder, 'unknown.heic')]);
    await page.getByText('known.heic shows no stars.').waitFor();
    await page.getByText('unknown.heic is a HEIF picture compressed by HEVC, which this program doesn\'t read.').waitFor();
  });

  test('a newer version is said, and the night stays', async () => {
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    version = 'newer';
    await page.reload();
    await ready(page);
    await page.getByText('A newer version of this page is ready. You get it when you next open the page.').waitFor();
    expect(await page.locator('html').getAttribute('data-looks')).toBe('3');
    expect(open.complaints).toEqual([]);
  });
});
