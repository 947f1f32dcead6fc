/**
 * `npx tsx test/page/shots.ts [STATE…]`: each state of the page as a picture in testdata/.cache/page/shots: phone and laptop, dark and by
 * day, what is in sight; `long-…` shows the phone's page down to its end. README's two are `answer-phone-dark` and `answer-laptop-day`.
 * `npm run build` first.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { otherTimes } from '../cli/otherTimes.js';
import { DEMO_RIG, demoSteps, slippedSteps } from '../panel/demoSession.js';
import { scratchFolder } from '../cli/poleward.js';
import { openBrowser } from '../panel/browser.js';
import { LAPTOP, PHONE, openPage, ready } from './openPage.js';
import { SINGLE } from './pageServer.js';

const out = fileURLToPath(new URL('../../testdata/.cache/page/shots/', import.meta.url));
const DEMO = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../demo/frame-${n}.fits`, import.meta.url)));
const steps = [...demoSteps(new Date('2026-10-09T19:42:10Z')), ...slippedSteps(new Date('2026-10-09T19:42:10Z'))].map(({ file }) => file);

const give = async (page: Page, files: readonly string[], looks: number): Promise<void> => {
  await page.setInputFiles('#pick', [...files]);
  await page.locator(`html[data-looks="${looks}"]`).waitFor({ state: 'attached' });
};
const rig = async (page: Page): Promise<void> => {
  const file = join(scratchFolder(), 'poleward.json');
  writeFileSync(file, JSON.stringify(DEMO_RIG));
  await page.setInputFiles('#openRig', file);
  await page.locator('#rig >> text=demo rig').waitFor({ state: 'attached' });
};
const part = (page: Page, name: string): Promise<void> => page.click(`nav [data-part="${name}"]`);

/** Day for dark or back; the picture is drawn anew. */
async function inOtherColours(page: Page): Promise<void> {
  const before = await page.locator('#pictureImage').getAttribute('src');
  await page.click('#day');
  await page.waitForFunction((src) => src === null || document.getElementById('pictureImage')!.getAttribute('src') !== src, before);
}

/** What is done on a fresh page to bring it into each state. */
const STATES: Readonly<Record<string, (page: Page) => Promise<void>>> = {
  empty: async () => {},
  answer: async (page) => { await give(page, DEMO, 3); },
  rig: async (page) => { await rig(page); await give(page, steps.slice(0, 3), 3); },
  turned: async (page) => {
    await rig(page);
    await give(page, steps.slice(0, 3), 3);
    await page.click('#azimuth button[aria-label="azimuth: a twentieth clockwise"]');
  },
  within: async (page) => {
    await rig(page);
    await page.evaluate(() => { location.hash = '#setup'; });
    await page.fill('#setup [name="limit"]', '2');
    await page.locator('#setup [name="limit"]').blur();
    await part(page, 'night');
    for (const n of [3, 4, 5]) await give(page, n === 3 ? steps.slice(0, 3) : [steps[n - 1]!], n);
  },
  doubt: async (page) => { await give(page, steps.slice(0, 3), 3); await give(page, [steps[5]!], 4); },
  trouble: async (page) => {
    await give(page, steps.slice(0, 2), 2);
    await page.setInputFiles('#pick', otherTimes([DEMO[2]!], () => []));
    await page.locator('#told p').waitFor();
  },
  log: async (page) => { await give(page, steps.slice(0, 3), 3); await give(page, [steps[3]!], 4); await part(page, 'log'); },
  practice: async (page) => {
    await page.click('#practise');
    await page.locator('#bench').waitFor();
  },
  practised: async (page) => {
    await page.click('#practise');
    for (const looks of [1, 2]) {
      await page.click('#benchFrame');
      await page.locator(`html[data-looks="${looks}"]`).waitFor({ state: 'attached' });
      if (looks < 2) await page.click('#bench button[aria-label="right ascension: 30° west"]');
    }
  },
  plan: async (page) => { await part(page, 'plan'); },
  planned: async (page) => {
    await part(page, 'setup');
    await page.fill('#setup [name="latitude"]', '47');
    await page.fill('#setup [name="longitude"]', '8.5');
    await page.locator('#setup [name="longitude"]').blur();
    await page.fill('#setup [name="focal"]', '500');
    await page.fill('#setup [name="pixel"]', '3.8');
    await page.locator('#setup [name="pixel"]').blur();
    await part(page, 'plan');
    for (const [name, value] of Object.entries({
      declination: 30, hourAngle: -2, hours: 4, exposure: 120, sensor: '6000x4000', altitudeError: 2, azimuthError: 3,
    })) await page.fill(`#budget input[name="${name}"]`, `${value}`);
    await page.click('#budget button[type="submit"]');
    await page.locator('#budget .answer').waitFor();
  },
  setup: async (page) => { await part(page, 'setup'); },
  rigForm: async (page) => { await rig(page); await part(page, 'setup'); await page.click('#rig >> text=edit'); },
};

mkdirSync(out, { recursive: true });
const browser = await openBrowser();
const asked = process.argv.slice(2);
for (const [name, act] of Object.entries(STATES)) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  const { context, page } = await openPage(browser, SINGLE);
  await ready(page);
  await act(page);
  await page.evaluate(() => document.fonts.ready);
  for (const [size, viewport] of [['phone', PHONE], ['laptop', LAPTOP]] as const) {
    await page.setViewportSize(viewport);
    for (const theme of ['dark', 'day']) {
      if (theme === 'day') await inOtherColours(page);
      await page.evaluate(() => window.scrollTo(0, 0));
      await page.screenshot({ path: join(out, `${name}-${size}-${theme}.png`) });
      if (size === 'phone' && theme === 'day') await page.screenshot({ path: join(out, `long-${name}.png`), fullPage: true });
      if (theme === 'day') await inOtherColours(page);
    }
  }
  await context.close();
}
await browser.close();
