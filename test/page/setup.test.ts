/** What the page's setup says of place, clock, times and field, against the options of the command line; and what the browser adds. */
import { utimesSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { MeasurementRecord } from '../../src/night/record/entry.js';
import { localClock, otherTimes, startsOf } from '../cli/otherTimes.js';
import { poleward, scratchFolder, writeNight } from '../cli/poleward.js';
import { chromiumPath, openBrowser } from '../panel/browser.js';
import { type OpenPage, PHONE, answersOf, give, openPage } from './openPage.js';
import { servePage } from './pageServer.js';

const HERE = { latitude: 46.5, longitude: 11.2, elevation: 1200 };
const good = writeNight(scratchFolder(), {
  altitudeErrorArcmin: 10, azimuthErrorArcmin: -12, width: 640, height: 480, pixelSizeMicrometres: 6,
});
const timeless = otherTimes(good, () => []);

describe.skipIf(chromiumPath === null)('the setup of the page', () => {
  let browser: Browser;
  let server: Awaited<ReturnType<typeof servePage>>;
  let open: OpenPage;
  let page: Page;

  beforeAll(async () => {
    [browser, server] = await Promise.all([openBrowser(), servePage()]);
    const context = await browser.newContext({
      viewport: PHONE, permissions: ['geolocation'], geolocation: { latitude: HERE.latitude, longitude: HERE.longitude },
      timezoneId: 'Europe/Madrid',
    });
    open = await openPage(browser, server.url, PHONE, context);
    ({ page } = open);
  }, 300_000);
  afterAll(async () => {
    server.stop();
    await browser.close();
  });

  const field = (name: string) => page.locator(`#setup [name="${name}"]`);
  async function fill(name: string, text: string): Promise<void> {
    await page.click('nav [data-part="setup"]');
    await field(name).fill(text);
    await field(name).blur();
  }
  const fault = (): Promise<string | null> => page.locator('#setup form').first().locator('[role="alert"]').textContent();
  /** Forgets the night, so that the next frames begin one. */
  async function newNight(): Promise<void> {
    await page.evaluate(() => { document.getElementById('newNight')!.click(); });
    await page.locator('html[data-looks="0"]').waitFor({ state: 'attached' });
  }
  const numbers = ({ axis, verdict, frames, doubts }: MeasurementRecord): unknown =>
    ({ axis, verdict, doubts, frames: frames.map((f) => ({ ...f, file: basename(f.file) })) });
  const measured = (...words: string[]): unknown => {
    const ran = poleward('measure', ...words, '--json');
    expect(ran.status, ran.err).toBe(0);
    return numbers(JSON.parse(ran.out) as MeasurementRecord);
  };

  test('zone by its name, a named site of the rig, where frames look: the command line\'s answer to the last digit', async () => {
    const winter = otherTimes(good, localClock(1));
    const rig = join(scratchFolder(), 'rig.json');
    writeFileSync(rig, JSON.stringify({ sites: {
      garden: { latitudeDeg: HERE.latitude, longitudeDeg: HERE.longitude, elevationMetres: HERE.elevation },
      hill: { latitudeDeg: 46.6, longitudeDeg: 11.3 },
    } }));
    const expected = measured(...winter, '--zone', 'Europe/Madrid', '--rig', rig, '--site', 'garden', '--near', 'pole');
    await page.click('nav [data-part="setup"]');
    await page.setInputFiles('#openRig', rig);
    await field('site').selectOption('garden');
    await fill('zone', 'Europe/Madrid');
    await fill('near', 'pole');
    await give(page, winter, 3);
    expect((await answersOf(page)).map(numbers)).toEqual([expected]);
    expect(await page.locator('#assumed').textContent()).toMatch(/rig file/);
    await page.evaluate(() => { [...document.querySelectorAll('button')].find((b) => b.textContent === 'remove')!.click(); });
    await field('site').waitFor({ state: 'detached' });
    await fill('zone', '');
    await newNight();
  });

  test('a setting that is kept moves neither the keyboard nor a form that is open below', async () => {
    await page.click('nav [data-part="setup"]');
    await page.getByRole('button', { name: 'make one' }).click();
    await field('latitude').fill('46.5');
    await field('longitude').fill('11.2');
    await page.keyboard.press('Tab');
    await page.getByText('You typed this place.').waitFor();
    expect(await field('elevation').evaluate((input) => input === document.activeElement)).toBe(true);
    expect(await page.locator('#rig input[name="camera.focalLengthMillimetres"]').isVisible()).toBe(true);
    await fill('latitude', '');
    await fill('longitude', '');
    await page.getByRole('button', { name: 'make one' }).click();
  });

  test('what can\'t be is said at its field, in the command line\'s sentence, and nothing of it is kept', async () => {
    for (const [name, text, option] of [
      ['near', 'orion', '--near'], ['zone', 'Madrid', '--zone'], ['ahead', 'an hour', '--clock-ahead'], ['pressure', '10', '--pressure'],
      ['latitude', '91', '--latitude'], ['nextTimes', '20:00', '--time'],
    ] as const) {
      await fill(name, text);
      expect(await field(name).getAttribute('aria-invalid')).toBe('true');
      const { err, status } = poleward('measure', good[0]!, option, text);
      expect(status).toBe(2);
      expect(err.replace(/\s+/g, ' ')).toContain(await fault());
      await fill(name, '');
      expect(await fault()).toBe('');
    }
  });

  test('place from the device, on a tap; times for frames that carry none, once', async () => {
    await page.click('nav [data-part="setup"]');
    await page.getByRole('button', { name: 'use this device\'s place' }).click();
    await page.getByText('This place is from this device.').waitFor();
    await fill('elevation', `${HERE.elevation}`);
    const starts = startsOf(good);
    const where = ['--latitude', `${HERE.latitude}`, '--longitude', `${HERE.longitude}`, '--elevation', `${HERE.elevation}`];
    await fill('nextTimes', starts.slice(1).join(','));
    await page.setInputFiles('#pick', timeless);
    await page.getByText('2 times were given for 3 frames.').waitFor();
    await fill('nextTimes', starts.join(','));
    await give(page, timeless, 3);
    expect((await answersOf(page)).map(numbers)).toEqual([measured(...timeless, '--time', starts.join(','), ...where)]);
    expect(await field('nextTimes').inputValue()).toBe('');
    await newNight();
  });

  test('the files\' own times where that is asked for; copies that were written together are refused', async () => {
    const files = otherTimes(good, () => []);
    const write = (apart: number): void => files.forEach((file, i) => {
      const seconds = Date.parse('2026-11-25T20:00:00Z') / 1000 + apart * i;
      utimesSync(file, seconds, seconds);
    });
    await page.click('nav [data-part="setup"]');
    await field('fileTimes').check();
    write(0.01);
    await page.setInputFiles('#pick', files);
    await page.getByText('were written at the same moment').first().waitFor();
    write(40);
    const where = ['--latitude', `${HERE.latitude}`, '--longitude', `${HERE.longitude}`, '--elevation', `${HERE.elevation}`];
    await give(page, files, 3);
    expect((await answersOf(page)).map(numbers)).toEqual([measured(...files, '--file-times', ...where)]);
    expect(await page.locator('#warnings').textContent()).toMatch(/The time is that of the files/);
    expect(open.complaints).toEqual([]);
  });
});
