/**
 * The page in Chromium, in both of its forms: what it answers against the command line, without a network, from a disk, over closed tabs.
 * Screenshots are left in testdata/.cache/page.
 */
import { copyFileSync, mkdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { MeasurementRecord } from '../../src/night/record/entry.js';
import { poleward, scratchFolder } from '../cli/poleward.js';
import { type Out, watching } from '../cli/watching.js';
import { chromiumPath, openBrowser } from '../panel/browser.js';
import { skyFramePaths, skyTruth } from '../skies.js';
import { LAPTOP, PHONE, answersOf, give, openPage, ready, savedSession } from './openPage.js';
import { SINGLE, servePage } from './pageServer.js';

const shots = fileURLToPath(new URL('../../testdata/.cache/page/', import.meta.url));
const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));

/** A measurement as both fronts must have it: frames by their names, remedies in no front's words. */
function comparable({ frames, warnings, doubts, ...record }: MeasurementRecord | Out): unknown {
  return {
    ...record, recorded: undefined, taken: undefined, doubts: doubts?.map(({ code }) => code),
    frames: frames.map((frame) => ({ ...frame, file: basename(frame.file) })), warnings: warnings.map(({ code }) => code),
  };
}

describe.skipIf(chromiumPath === null)('the page in a browser', () => {
  let browser: Browser;
  let server: Awaited<ReturnType<typeof servePage>>;

  beforeAll(async () => {
    mkdirSync(shots, { recursive: true });
    [browser, server] = await Promise.all([openBrowser(), servePage()]);
  });
  afterAll(async () => {
    server.stop();
    await browser.close();
  });

  test('both forms answer the demo\'s frames as the command line does, to the last digit, and ask nothing of anyone else', async () => {
    const expected = comparable(JSON.parse(poleward('measure', ...DEMO, '--json').out) as MeasurementRecord);
    for (const [form, url] of [['folder', server.url], ['single', SINGLE]] as const) {
      const { context, page, asked, complaints } = await openPage(browser, url);
      await give(page, DEMO, 3);
      expect((await answersOf(page)).map(comparable), form).toEqual([expected]);
      expect(await page.locator('#verdict').textContent()).toMatch(/^azimuth first: move the axis 24\.3′ west/);
      expect(await page.locator('#azimuth .number').textContent()).toContain('24.3′');
      await page.locator('#pictureImage[src^="blob:"]').waitFor();
      expect(asked.filter((address) => !address.startsWith(url) && !/^(data|blob):/.test(address))).toEqual([]);
      expect(complaints).toEqual([]);
      await shoot(page, form);
      await context.close();
    }
  });

  test('once it was open it works with the network cut, with what it knew', async () => {
    const { context, page, complaints } = await openPage(browser, server.url);
    await page.evaluate(() => navigator.serviceWorker.ready);
    await context.setOffline(true);
    await page.reload();
    await ready(page);
    await give(page, DEMO, 3);
    await page.reload();
    await ready(page);
    expect(await page.locator('#verdict').textContent()).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    expect(complaints).toEqual([]);
    await context.close();
  });
});

/** Both sizes, dark and light. */
async function shoot(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of [['phone', PHONE], ['laptop', LAPTOP]] as const) {
    await page.setViewportSize(viewport);
    for (const theme of ['dark', 'day']) {
      if (theme === 'day') await page.click('#day');
      await page.screenshot({ path: join(shots, `${name}-${size}-${theme}.png`) });
      if (theme === 'day') await page.click('#day');
    }
  }
}
