/**
 * The panel in Chromium: one night, like the demo's, comes frame by frame into a folder under `watch --panel`, and the tests go through
 * it in order. Screenshots are left in testdata/.cache/panel. Contrast by WCAG 2.2 (W3C Recommendation 2023), success criteria 1.4.3 and
 * 1.4.11; target sizes by 2.5.5 (44 px), here 64 px for gloves.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { reachableAddresses } from '../../src/panel/addresses.js';
import { makeSite } from '../../src/sky/site.js';
import { fitsFile, frameCards } from '../../src/simulate/fitsFile.js';
import { ordinaryNight } from '../../src/simulate/nightPlan.js';
import { scratchFolder, strewnStars } from '../cli/poleward.js';
import { chromiumPath, openBrowser } from './browser.js';
import { DEMO_RIG, type DemoStep, demoFolder, demoSteps, midnightLongitude, save, slippedSteps } from './demoSession.js';
import { type WatchProcess, startWatch } from './watchProcess.js';

const PHONE = { width: 360, height: 640 };
const DESKTOP = { width: 1280, height: 800 };
const shots = fileURLToPath(new URL('../../testdata/.cache/panel/', import.meta.url));
/** An hour ago: a session of another night would not be carried on. */
const BEGUN = new Date(Date.now() - 3_600_000);
const LONGITUDE = midnightLongitude(BEGUN);
const LIMIT = 2;

describe.skipIf(chromiumPath === null)('the panel in a browser', () => {
  let browser: Browser;
  let context: BrowserContext;
  let page: Page;
  let steps: DemoStep[];
  let watch: WatchProcess;
  const folder = demoFolder();
  const asked: string[] = [], complaints: string[] = [];
  /** The home of a watch's session and key. */
  const home = (): NodeJS.ProcessEnv => {
    const state = scratchFolder();
    return { ...process.env, XDG_STATE_HOME: state, LOCALAPPDATA: state };
  };
  const here = home();
  const watchAt = (port: string, env = here): Promise<WatchProcess> =>
    startWatch(folder, ['--panel-open', '--panel-port', port, '--limit', `${LIMIT}`], env);
  const address = (): URL => new URL(watch.addresses[0]!);

  beforeAll(async () => {
    mkdirSync(shots, { recursive: true });
    steps = [...demoSteps(BEGUN, LONGITUDE), ...slippedSteps(BEGUN, LONGITUDE)];
    [browser, watch] = await Promise.all([openBrowser(), watchAt('0')]);
    context = await browser.newContext({ viewport: PHONE });
    page = await context.newPage();
    page.on('request', (request) => asked.push(request.url()));
    page.on('console', (message) => { if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text()); });
    page.on('pageerror', (error) => complaints.push(String(error)));
    await page.addInitScript(() => {
      const tones: number[] = [];
      (window as unknown as { heard: number[] }).heard = tones;
      const { start } = OscillatorNode.prototype;
      OscillatorNode.prototype.start = function (when) { tones.push(this.frequency.value); start.call(this, when); };
    });
    await page.goto(watch.addresses[0]!);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await watch?.stop();
  });

  /** Saves the frame of a step, from 1, and waits until the watch has answered and the page shows that answer. */
  async function feed(number: number): Promise<DemoStep> {
    const step = steps[number - 1]!;
    const before = watch.lines.length;
    save(step, folder, `f${number}.fits`);
    await watch.until((lines) => (lines.length > before ? true : null));
    if (watch.lines.at(-1)!['schema'] !== 'poleward/measurement-1') return step;
    for (const [knob, error] of [['azimuth', step.azimuth], ['altitude', step.altitude]] as const) {
      await page.waitForFunction(([id, right]) => {
        const text = document.querySelector(`#${id} .number span`)?.textContent ?? '';
        return Math.abs(parseFloat(text) - Math.abs(right as number)) < 0.06;
      }, [knob, error] as const);
    }
    return step;
  }

  /** The turns that a dial's band shows, clockwise positive: from the top to where its head points. */
  const bandTurns = (knob: string): Promise<number> => page.evaluate((id) => {
    const head = document.querySelector(`#${id} .dial svg .head`)!.getAttribute('d')!;
    const [x, y] = /^M(\S+) (\S+?)L/.exec(head)!.slice(1).map(Number) as [number, number];
    const turns = Math.atan2(x - 100, 100 - y) / (2 * Math.PI);
    const stem = document.querySelector(`#${id} .dial svg .turn`)?.getAttribute('d') ?? head;
    const points = [...stem.matchAll(/[ML](\S+) ([^ML]+)/g)].map(([, a, b]) => [Number(a), Number(b)] as const);
    // Which way the band sets off.
    const clockwise = points[1]![0] > points[0]![0];
    return clockwise ? (turns + 1) % 1 : -((1 - turns) % 1);
  }, knob);

  /** Numbers, dials and what to do are right for a step. What each knob must do is by the rig file alone: error / travel of a turn. */
  async function expectShown(step: DemoStep): Promise<void> {
    const azimuth = -step.azimuth / DEMO_RIG.knobs.azimuth.arcminPerTurn, altitude = -step.altitude / DEMO_RIG.knobs.altitude.arcminPerTurn;
    const within = Math.hypot(step.azimuth, step.altitude) < LIMIT;
    if (Math.abs(azimuth) > 0.01) expect(await bandTurns('azimuth')).toBeCloseTo(azimuth, 2);
    expect(await bandTurns('altitude')).toBeCloseTo(altitude, 2);
    expect(await page.locator('#altitude .middle').textContent()).toContain(altitude.toFixed(2));
    expect(await page.locator('#azimuth .arrow').textContent()).toBe(Math.abs(azimuth) > 0.01 ? '← ' : '');
    expect(await page.locator('#altitude .way').textContent()).toBe('↑ raise');
    const next = within ? /^Lock the bolts/
      : /^Azimuth: .*counter-clockwise, then save a frame\.$/;
    expect(await page.locator('#next').textContent()).toMatch(next);
    expect(await page.locator('#azimuth .sure').textContent()).toMatch(/^± 0\.\d″$/);
    const off = new RegExp(`′ ± 0\\.\\d″ off the pole: ${within ? 'within' : 'over'} your limit of ${LIMIT}′$`);
    expect(await page.locator('#off').textContent()).toMatch(off);
    expect(await page.locator('#age').textContent()).toMatch(/^\d+ s ago: /);
  }

  async function shoot(name: string): Promise<void> {
    for (const [size, viewport] of [['desktop', DESKTOP], ['phone', PHONE]] as const) {
      await page.setViewportSize(viewport);
      await page.screenshot({ path: join(shots, `${size}-${name}.png`) });
    }
  }

  test('before the first frame it says what to do', async () => {
    expect(await page.locator('#next').textContent()).toBe('Point the camera near the pole, or where the sky is free, and save a frame.');
    expect(await page.locator('#age').textContent()).toBe('no frame yet');
  });

  test('the first painted pixels are black and the darkest red, whatever step was chosen; so is a refusal', async () => {
    const opening = await context.newPage();
    await opening.addInitScript(() => localStorage.setItem('poleward-step', '5'));
    // The script hangs: what is painted is the page's own style.
    let release = (): void => {};
    const held = new Promise<void>((resolve) => { release = resolve; });
    await opening.route('**/main.js', async (route) => { await held; await route.continue(); });
    await opening.goto(watch.addresses[0]!, { waitUntil: 'commit' });
    await opening.getByText('Waiting for the watch').waitFor();
    const first = await reddest(await opening.screenshot({ path: join(shots, 'first-paint.png') }));
    expect(first.other).toBe(0);
    expect(first.red).toBeGreaterThan(0x50);
    expect(first.red).toBeLessThanOrEqual(0x78);
    release();
    await opening.waitForFunction(() => document.documentElement.dataset['step'] === '5');
    await opening.goto(`${watch.addresses[0]!}nothing`);
    expect(await opening.locator('body').textContent()).toContain('There is no such page.');
    const refusal = await reddest(await opening.screenshot());
    expect(refusal).toMatchObject({ other: 0 });
    expect(refusal.red).toBeLessThanOrEqual(0x78);
    await opening.evaluate(() => localStorage.removeItem('poleward-step'));
    await opening.close();
  });

  test.skipIf(process.platform === 'win32')('a watch that falls silent without a word is noticed after twelve seconds', async () => {
    const waiting = await context.newPage();
    await waiting.clock.install();
    await waiting.goto(watch.addresses[0]!);
    await waiting.getByText('Point the camera near the pole').waitFor();
    watch.child.kill('SIGSTOP');
    try {
      await waiting.clock.runFor(11_000);
      expect(await waiting.locator('#link').textContent()).toBe('');
      await waiting.clock.runFor(4000);
      await waiting.getByText(/STALE: no word from the watch for 1\d s/).waitFor();
    } finally {
      watch.child.kill('SIGCONT');
    }
    await waiting.waitForFunction(() => document.getElementById('link')!.textContent === '');
    await waiting.close();
  });

  test('two frames: numbers, dials, what to do', async () => {
    await feed(1);
    await page.getByText('first frame').waitFor();
    await expectShown(await feed(2));
    await shoot('answer');
  });

  test('two numbers can be read from three metres, and nothing needed lies under the buttons or beside the screen', async () => {
    for (const [size, metres] of [[DESKTOP, 3], [{ width: 412, height: 915 }, 3], [PHONE, 3]] as const) {
      await page.setViewportSize(size);
      const found = await page.evaluate(() => {
        const box = (selector: string) => document.querySelector(selector)!.getBoundingClientRect();
        const digits = document.querySelector('#azimuth .number span')!;
        const brush = document.createElement('canvas').getContext('2d')!;
        const style = getComputedStyle(digits);
        brush.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
        const range = document.createRange();
        range.selectNodeContents(digits);
        return {
          digit: brush.measureText('0').actualBoundingBoxAscent, textRight: range.getBoundingClientRect().right,
          scroll: document.documentElement.scrollWidth, nextBottom: box('#next').bottom, navTop: box('nav').top,
          azimuth: box('#azimuth .dial').width, altitude: box('#altitude .dial').width,
        };
      });
      // A CSS pixel of a phone is 1/160 inch (Android's density-independent pixel). Normal sight resolves letters of 5′ (Snellen; ISO
      // 8596).
      const angle = Math.atan(found.digit * 25.4 / 160 / 1000 / metres) * 180 / Math.PI * 60;
      expect(angle).toBeGreaterThan(9);
      expect(found.textRight).toBeLessThanOrEqual(size.width);
      expect(found.scroll).toBeLessThanOrEqual(size.width);
      expect(found.nextBottom).toBeLessThanOrEqual(found.navTop);
      expect(Math.min(found.azimuth, found.altitude)).toBeGreaterThan(130);
    }
  });

  test('on its side the phone shows both dials and all buttons', async () => {
    await page.setViewportSize({ width: 640, height: 360 });
    await page.screenshot({ path: join(shots, 'phone-side.png') });
    for (const selector of ['#azimuth', '#altitude', ...['darker', 'lighter', 'awake', 'sound'].map((id) => `#${id}`)]) {
      const box = (await page.locator(selector).boundingBox())!;
      expect([selector, box.x >= 0 && box.y >= 0 && box.x + box.width <= 640 && box.y + box.height <= 360]).toEqual([selector, true]);
    }
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(640);
    await page.setViewportSize(PHONE);
  });

  test('red is all there is, and its contrast is what each step promises', async () => {
    const seen: number[] = [];
    // Text of 24 px, or bold of 18.66 px, is large by WCAG and needs 3:1; other text, 4.5:1.
    for (const [step, least] of [[1, null], [2, null], [3, 'large'], [4, 'any'], [5, 'any']] as const) {
      await page.evaluate((s) => { document.documentElement.dataset['step'] = `${s}`; }, step);
      const texts = await page.evaluate(() => [...document.querySelectorAll('body *')].filter((e) => {
        const own = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.textContent!.trim() !== '');
        return own && e.checkVisibility() && !e.closest('.unseen, noscript, svg') && e.getBoundingClientRect().width > 1;
      }).map((e) => {
        const { color, fontSize, fontWeight } = getComputedStyle(e);
        return {
          text: e.textContent!.slice(0, 30), colour: color.match(/\d+/g)!.slice(0, 3).map(Number) as [number, number, number],
          px: parseFloat(fontSize), bold: Number(fontWeight) >= 700,
        };
      }));
      expect(texts.length).toBeGreaterThan(15);
      for (const { text, colour, px, bold } of texts) {
        expect(colour.slice(1), text).toEqual([0, 0]);
        const contrast = (luminance(colour) + 0.05) / 0.05;
        seen.push(contrast);
        const large = px >= 24 || (bold && px >= 18.66);
        if (least === 'any') expect(contrast, text).toBeGreaterThanOrEqual(4.5);
        if (least === 'large') expect([text, large, contrast >= 3]).toEqual([text, true, true]);
      }
      expect(await reddest(await page.screenshot({ path: join(shots, `step-${step}.png`) }))).toMatchObject({ other: 0 });
    }
    // Each step is lighter than the one before.
    const distinct = [...new Set(seen)];
    expect(distinct).toHaveLength(5);
    expect([...distinct].sort((a, b) => a - b)).toEqual(distinct);
  });

  test('every control is large enough for gloves, has a name, and works from the keyboard', async () => {
    const buttons = page.getByRole('button');
    expect(await buttons.count()).toBe(4);
    for (const button of await buttons.all()) {
      const { width, height } = (await button.boundingBox())!;
      expect(Math.min(width, height)).toBeGreaterThanOrEqual(64);
    }
    expect(await page.getByRole('img', { name: /^azimuth: just under half a turn \(0\.4[01]\) counter-clockwise/ }).count()).toBe(1);
    expect(await page.getByRole('img', { name: /^altitude: .*0\.34/ }).count()).toBe(1);
    expect(await page.getByRole('region').count()).toBe(2);
    expect(await page.locator('main').ariaSnapshot()).toContain('24.3 arcminutes too far east');
    expect(await page.getByRole('navigation', { name: 'this screen' }).count()).toBe(1);

    await page.reload();
    await page.getByRole('region').first().waitFor();
    const step = (): Promise<string | null> => page.locator('html').getAttribute('data-step');
    for (const name of [/^darker/, /^lighter/]) {
      await page.keyboard.press('Tab');
      expect(await page.evaluate(() => document.activeElement?.ariaLabel)).toMatch(name);
    }
    expect(await page.locator('#lighter').evaluate((b) => getComputedStyle(b).outlineWidth)).toBe('4px');
    await page.keyboard.press('Enter');
    expect(await step()).toBe('4');
    await page.keyboard.press('Space');
    await page.keyboard.press('Space');
    expect(await step()).toBe('5');
    expect(await page.getByRole('button', { name: 'lighter, now step 5 of 5' }).getAttribute('aria-disabled')).toBe('true');
    await page.keyboard.press('Shift+Tab');
    for (let n = 0; n < 6; n++) await page.keyboard.press('Enter');
    expect(await step()).toBe('1');
    await page.reload();
    await page.waitForFunction(() => document.documentElement.dataset['step'] === '1');
  });

  test('trouble is said in large words and goes when the next frame is good; what it says tells no path', async () => {
    const time = new Date(BEGUN.getTime() + 100_000);
    const plan = ordinaryNight(makeSite({ latitudeDeg: 47.31, longitudeDeg: LONGITUDE, elevationMetres: 640 }), time);
    writeFileSync(join(folder, 'cloud.fits'), fitsFile(strewnStars(640, 480, 0, 1), frameCards(plan, time)));
    const headline = page.getByRole('alert').getByRole('heading', { name: 'Clouds? No stars' });
    await headline.waitFor();
    expect(parseFloat(await headline.evaluate((e) => getComputedStyle(e).fontSize))).toBeGreaterThanOrEqual(40);
    await page.screenshot({ path: join(shots, 'clouds.png') });
    expect(await page.locator('#age').textContent()).toMatch(/not usable/);
    expect(await page.content()).not.toContain(folder);
    expect(await page.content()).not.toContain('cloud.fits');
    const step = await feed(3);
    await page.waitForFunction(() => document.getElementById('trouble')!.hidden);
    await expectShown(step);
  });

  test('after a touch each answer is heard: higher when nearer, another sound within the limit', async () => {
    // A tone may begin a moment after the numbers are there.
    const tones = async (count: number): Promise<number[]> => {
      await page.waitForFunction((least) => (window as unknown as { heard: number[] }).heard.length >= least, count);
      return page.evaluate(() => (window as unknown as { heard: number[] }).heard.splice(0));
    };
    expect(await tones(0)).toEqual([]);
    await page.getByRole('button', { name: 'sound' }).click();
    expect(await page.getByRole('button', { name: 'sound' }).getAttribute('aria-pressed')).toBe('true');
    const far = await tones(1);
    await expectShown(await feed(4));
    const nearer = await tones(1);
    await expectShown(await feed(5));
    const within = await tones(3);
    expect([far.length, nearer.length, within.length]).toEqual([1, 1, 3]);
    expect(nearer[0]!).toBeGreaterThan(far[0]!);
    await page.getByRole('button', { name: 'sound' }).click();
    expect(await page.getByRole('button', { name: 'sound' }).getAttribute('aria-pressed')).toBe('false');
    await shoot('within');
  });

  test('a doubt is said with what settles it', async () => {
    await feed(6);
    await page.getByRole('heading', { name: 'In doubt' }).waitFor();
    expect(await page.getByRole('alert').textContent()).toMatch(/A knob was turned .*, or the declination moved: one frame can't tell/);
    expect(await page.locator('#next').textContent()).toMatch(/^Turn the mount 20° or more in right ascension, touch no knob/);
    expect(await page.content()).not.toContain(folder);
    await page.screenshot({ path: join(shots, 'doubt.png') });
  });

  test.skipIf(reachableAddresses(networkInterfaces()).length === 0)('the screen is kept on by the browser\'s lock where it has one, by a '
    + 'black film elsewhere', async () => {
    const awake = page.getByRole('button', { name: 'stay on' });
    expect(address().hostname).not.toMatch(/^127\./);
    // Not https, not this computer's own name: no lock here.
    expect(await page.evaluate(() => 'wakeLock' in navigator)).toBe(false);
    await page.waitForFunction(() => {
      const film = document.querySelector('video');
      return film !== null && !film.paused && film.readyState >= 2;
    });
    await page.waitForFunction(() => document.getElementById('awake')!.ariaPressed === 'true');
    await awake.click();
    expect(await awake.getAttribute('aria-pressed')).toBe('false');
    expect(await page.locator('video').count()).toBe(0);
    await page.getByText('may let the screen go dark').waitFor({ state: 'hidden' });

    const local = await context.newPage();
    await local.goto(`http://localhost:${address().port}${address().pathname}`);
    await local.waitForFunction(() => document.getElementById('awake')!.ariaPressed === 'true');
    expect(await local.locator('video').count()).toBe(0);
    await local.close();
  });

  test('it has asked nothing of anyone else, and complained of nothing', () => {
    expect(asked.length).toBeGreaterThan(7);
    expect(asked.filter((url) => !url.startsWith(address().href) && !url.startsWith('data:'))).toEqual([]);
    expect(complaints).toEqual([]);
  });

  test('says when it is stale, and comes back by itself when the watch is started anew, with what the session knows', async () => {
    const number = await page.locator('#azimuth .number').textContent();
    await page.evaluate(() => { (window as unknown as { same: boolean }).same = true; });
    const { href, port } = address();
    expect(await watch.stop()).toBe(0);
    await page.getByRole('alert').filter({ hasText: /STALE: no word from the watch/ }).waitFor();
    expect(await page.locator('#azimuth .number').evaluate((e) => getComputedStyle(e.closest('.knob')!).textDecorationLine)).toBe(
      'line-through',
    );
    await page.screenshot({ path: join(shots, 'stale.png') });
    watch = await watchAt(port);
    expect(watch.addresses).toContain(href);
    await page.waitForFunction(() => document.getElementById('link')!.textContent === '' && !document.body.classList.contains('stale'));
    expect(await page.evaluate(() => (window as unknown as { same?: boolean }).same)).toBe(true);
    expect(await page.locator('#azimuth .number').textContent()).toBe(number);
    expect(await page.locator('#altitude .dial svg .turn').count()).toBe(1);
    // The mount was turned meanwhile: the night goes on with the looks of its record, and the doubt is settled.
    await feed(7);
    await page.getByText('mount was turned').waitFor();
    expect(await page.getByRole('alert').filter({ hasText: 'In doubt' }).count()).toBe(0);
  });

  test('an address whose key is no longer tonight\'s is said to be so', async () => {
    const { port } = address();
    await watch.stop();
    watch = await watchAt(port, home());
    await page.getByText(/STALE: this address is no longer valid/).waitFor();
  });
});

/** Relative luminance, WCAG 2.2. */
function luminance(rgb: readonly [number, number, number]): number {
  const [r, g, b] = rgb.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4)) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** The lightest red of a screenshot, and the lightest anything else. */
async function reddest(png: Buffer): Promise<{ red: number; other: number }> {
  const { channels } = await sharp(png).removeAlpha().stats();
  return { red: channels[0]!.max, other: Math.max(channels[1]!.max, channels[2]!.max) };
}
