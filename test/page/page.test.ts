/**
 * The page in Chromium, in both of its forms, gone through in order: what it answers against the command line, without a network, from a
 * disk, over closed tabs. Screenshots are left in testdata/.cache/page.
 */
import { copyFileSync, mkdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { MeasurementRecord } from '../../src/night/record/entry.js';
import { poleward, scratchFolder } from '../cli/poleward.js';
import { type Out, watching } from '../cli/watching.js';
import { chromiumPath, openBrowser } from '../panel/browser.js';
import { demoSteps } from '../panel/demoSession.js';
import { LAPTOP, type OpenPage, PHONE, answersOf, give, openPage, ready, savedSession } from './openPage.js';
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
  let folder: OpenPage;
  let single: OpenPage;
  /** Of the folder form. */
  let page: Page;

  beforeAll(async () => {
    mkdirSync(shots, { recursive: true });
    [browser, server] = await Promise.all([openBrowser(), servePage()]);
    const context = await browser.newContext({ viewport: PHONE });
    // In place of the person's own folder: the browser grants one of its own without being asked.
    await context.addInitScript(() => { Object.assign(window, { showDirectoryPicker: () => navigator.storage.getDirectory() }); });
    folder = await openPage(browser, server.url, PHONE, context);
    single = await openPage(browser, SINGLE);
    ({ page } = folder);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    server?.stop();
  });

  const looks = (at: Page, count: number): Promise<void> => at.locator(`html[data-looks="${count}"]`).waitFor({ state: 'attached' });
  const verdict = (at: Page): Promise<string | null> => at.locator('#verdict').textContent();
  const part = (at: Page, name: string): Promise<void> => at.click(`nav [data-part="${name}"]`);
  async function set(at: Page, fields: Readonly<Record<string, string | number>>): Promise<void> {
    await part(at, 'setup');
    for (const [name, value] of Object.entries(fields)) {
      await at.fill(`#setup [name="${name}"]`, `${value}`);
      await at.locator(`#setup [name="${name}"]`).blur();
    }
  }
  async function newNight(at: Page): Promise<void> {
    await at.evaluate(() => { document.getElementById('newNight')!.click(); });
    await looks(at, 0);
  }

  test('a night that comes into a watched folder is understood as `watch` understands it, over a page closed in the middle', async () => {
    const frames = demoSteps(new Date('2026-10-09T19:42:10Z')).map(({ file }, i) => [`look ${i + 1}.fits`, file] as const);
    const watched = scratchFolder();
    let live: Out[] = [];
    await watching(watched, [], async ({ answers, messages }) => {
      for (const [i, [name, file]] of frames.entries()) {
        copyFileSync(file, join(watched, name));
        if (i === 0) await messages(/first frame of the night/);
        else live = await answers(i);
      }
    });

    const watch = async (): Promise<void> => {
      await page.click('#watch');
      await page.getByText('each frame that is saved there').waitFor();
    };
    await watch();
    for (const [i, [name, file]] of frames.entries()) {
      if (i === 3) {
        await page.close();
        folder = await openPage(browser, server.url, PHONE, folder.context);
        ({ page } = folder);
        await looks(page, 3);
        await watch();
      }
      await saveToFolder(page, name, readFileSync(file));
      await looks(page, i + 1);
    }
    const answers = await answersOf(page);
    expect(answers).toHaveLength(4);
    for (const [i, answer] of answers.entries()) {
      const there = live[i] as unknown as MeasurementRecord & Out;
      expect([i, answer['verdict'], answer['next'], answer.doubts, answer.warnings.map((w) => w.code)]).toEqual(
        [i, there.verdict, there.next, there.doubts, there.warnings.map((w) => w.code)],
      );
      expect(Math.abs(answer.axis.fromTruePole.separationArcmin - there.axis.fromTruePole.separationArcmin)).toBeLessThan(0.001);
    }
    await page.click('#watch');
    await newNight(page);
  });

  test('two tabs show one night, and what both give at once is in it', async () => {
    const other = (await openPage(browser, server.url, PHONE, folder.context)).page;
    const both = (count: number): Promise<unknown> => Promise.all([page, other].map((at) => looks(at, count)));
    await page.setInputFiles('#pick', DEMO[0]!);
    await both(1);
    await Promise.all([page.setInputFiles('#pick', DEMO[1]!), other.setInputFiles('#pick', DEMO[2]!)]);
    await both(3);
    const files = (await savedSession(page)).flatMap((e) => (e.kind === 'look' ? [e.frame] : []));
    expect([...files].sort()).toEqual(DEMO.map((file) => basename(file)));
    await other.close();
    await newNight(page);
  });

  test('both forms answer the demo\'s frames as the command line does, to the last digit; names of files are never markup', async () => {
    // Windows has no such names.
    const name = process.platform === 'win32' ? 'frame-3 &lt;img&gt;.fits' : 'frame-3 <img src=x onerror=document.title=1>.fits';
    const rude = join(scratchFolder(), name);
    copyFileSync(DEMO[2]!, rude);
    const frames = [DEMO[0]!, DEMO[1]!, rude];
    const expected = comparable(JSON.parse(poleward('measure', ...frames, '--json').out) as MeasurementRecord);
    for (const [form, at] of [['folder', page], ['single', single.page]] as const) {
      await give(at, frames, 3);
      expect((await answersOf(at)).map(comparable), form).toEqual([expected]);
      expect(await verdict(at)).toMatch(/^azimuth first: move the axis 24\.3′ west/);
      expect(await at.locator('#azimuth .number').textContent()).toContain('24.3′');
      await at.locator('#pictureImage[src^="blob:"]').waitFor();
      expect(await at.locator('#looks').textContent()).toContain(name);
      expect(await at.locator('#looks img').count()).toBe(0);
      expect(await at.title()).toBe('Poleward');
    }
    await shoot(page, 'night');
  });

  test('every control can be touched and has a name; nothing stands beside the screen; both themes have contrast enough', async () => {
    for (const theme of ['dark', 'day']) {
      if (theme === 'day') await page.click('#day');
      await page.evaluate(() => { document.documentElement.dataset['step'] = '5'; });
      for (const name of ['night', 'log', 'plan', 'setup']) {
        await part(page, name);
        for (const size of [PHONE, { width: 640, height: 360 }]) {
          await page.setViewportSize(size);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth);
          expect([name, wide]).toEqual([name, size.width]);
        }
        await page.setViewportSize(PHONE);
        const found = await page.evaluate(() => {
          const shown = (e: Element): boolean => e.checkVisibility() && !e.closest('.unseen');
          const controls = [...document.querySelectorAll<HTMLElement>('button, .button, input, select')].filter(shown);
          const channels = (text: string): number[] => text.match(/\d+/g)!.slice(0, 3).map(Number);
          const texts = [...document.querySelectorAll('body *')].filter((e) => shown(e) && !e.closest('svg, noscript, option')
            && [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.textContent!.trim() !== ''));
          return {
            small: controls.map((e) => [e.textContent, e.getBoundingClientRect()] as const)
              .filter(([, box]) => Math.min(box.width, box.height) < 24).map(([text]) => text),
            nameless: controls.filter((e) => e instanceof HTMLButtonElement && !(e.ariaLabel ?? e.textContent)?.trim()).length,
            ground: channels(getComputedStyle(document.body).backgroundColor),
            inks: [...new Set(texts.map((e) => getComputedStyle(e).color))].map(channels),
          };
        });
        expect([name, found.small, found.nameless]).toEqual([name, [], 0]);
        for (const ink of found.inks) expect(contrast(ink, found.ground), `${theme} ${name} ${ink}`).toBeGreaterThanOrEqual(4.5);
        if (theme !== 'dark') continue;
        expect(found.inks.every(([, green, blue]) => green === 0 && blue === 0)).toBe(true);
        expect([name, await notRed(await page.screenshot())]).toEqual([name, 0]);
      }
    }
    await page.click('#day');
  });

  test('the saved session is the command line\'s and opens again elsewhere; a look can be undone', async () => {
    await part(page, 'log');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.click('#saveSession')]);
    const session = join(scratchFolder(), 'saved.jsonl');
    await saved.saveAs(session);
    const log = poleward('log', '--session', session, '--json');
    expect(log.status, log.err).toBe(0);
    const [report] = await Promise.all([page.waitForEvent('download'), page.click('#saveReport')]);
    expect(readFileSync(await report.path(), 'utf8')).toContain('<title>Polar alignment');
    await shoot(page, 'log');

    const other = single.page;
    await newNight(other);
    await other.evaluate(() => { location.hash = '#log'; });
    await other.setInputFiles('#openSession', session);
    await looks(other, 3);
    expect(await verdict(other)).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    await other.click('#undo');
    await looks(other, 2);
    const kinds = (await savedSession(other)).map(({ kind }) => kind);
    expect([kinds.filter((k) => k === 'look').length, kinds.includes('answer')]).toEqual([2, false]);
    await newNight(other);
  });

  test('a virtual mount is turned, looked at and understood; its night is kept nowhere', async () => {
    const at = single.page;
    await at.click('#practise');
    for (const count of [1, 2, 3]) {
      await at.click('#benchFrame');
      await looks(at, count);
      await at.click('#bench button[aria-label="right ascension: 30° west"]');
    }
    const [up, east] = [/([\d.]+)′ too (low|high)/, /([\d.]+)′ too far (west|east)/];
    const said = (await at.locator('#sure').textContent())!;
    await at.click('#benchTruth');
    const truth = at.locator('#truth');
    await truth.filter({ hasText: 'from the true pole' }).waitFor();
    const hidden = (await truth.textContent())!;
    // The page says it of the refracted pole, which stands a minute of arc higher.
    expect(Math.abs(Number(up.exec(said)![1]) - Number(up.exec(hidden.replace(' and ', ', '))![1]))).toBeLessThan(1.3);
    expect(Math.abs(Number(east.exec(said)![1]) - Number(east.exec(hidden)![1]))).toBeLessThan(0.1);
    expect(east.exec(said)![2]).toBe(east.exec(hidden)![2]);
    // Quick taps of the hand add up.
    for (let n = 0; n < 3; n++) await at.click('#azimuth button[aria-label="azimuth: a twentieth clockwise"]');
    expect(await at.locator('#saidText').textContent()).toContain('azimuth 0.15 clockwise');
    await shoot(at, 'practice');
    await at.click('#benchEnd');
    await looks(at, 0);
    await at.reload();
    await ready(at);
    expect(await at.locator('html').getAttribute('data-looks')).toBe('0');
  });

  test('once it was open it works with the network cut, with what it knew', async () => {
    await page.evaluate(() => navigator.serviceWorker.ready);
    await folder.context.setOffline(true);
    await page.reload();
    await looks(page, 3);
    expect(await verdict(page)).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    await newNight(page);
    await give(page, DEMO, 3);
    expect(await verdict(page)).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    await folder.context.setOffline(false);
  });

  test('plans a run, writes the sheet for a night, verifies tracked frames, keeps a rig', async () => {
    await set(page, { latitude: '47 00 N', longitude: '8.5' });
    await page.click('#rig >> text=make one');
    await page.fill('#rig input[name="knobs.azimuth.arcminPerTurn"]', '60');
    await page.fill('#rig input[name="camera.focalLengthMillimetres"]', '500');
    await page.fill('#rig input[name="camera.pixelSizeMicrometres"]', '3.8');
    await page.click('#rig >> text=keep this rig');
    await page.locator('#rig >> text=edit').waitFor();
    await shoot(page, 'setup');
    await part(page, 'plan');
    for (const [name, value] of Object.entries({
      declination: 30, hourAngle: -2, hours: 4, exposure: 120, guideOffset: 1, sensor: '6000x4000', altitudeError: 2, azimuthError: 3,
    })) await page.fill(`#budget input[name="${name}"]`, `${value}`);
    await page.click('#budget >> text=check this run');
    await page.locator('#budget .answer').waitFor();
    const budget = poleward(
      'budget', '--declination', '30', '--hour-angle', '-2', '--hours', '4', '--exposure', '120', '--guide-offset', '1', '--sensor',
      '6000x4000', '--altitude-error', '2', '--azimuth-error', '3', '--latitude', '47', '--focal-length', '500', '--pixel-size', '3.8',
      '--full',
    ).out;
    const beforeSources = (text: string): string => text.slice(0, text.indexOf('error altitude'));
    expect(beforeSources((await page.locator('#budget .answer').textContent())!)).toBe(beforeSources(budget));
    await page.fill('#prepare input[name="date"]', '2026-11-26');
    await page.click('#prepare >> text=make the sheet');
    await page.locator('#prepare .answer').waitFor();
    expect(await page.locator('#prepare .answer').textContent()).toContain('dark           ');
    await page.fill('#prepare input[name="date"]', '26.11.');
    await page.click('#prepare >> text=make the sheet');
    expect(await page.locator('#prepare .fault').textContent()).toMatch(/is not a date\. Write it like/);
    await page.setInputFiles('#verify input[name="frames"]', DEMO);
    await page.click('#verify >> text=verify');
    await page.waitForFunction(() => document.querySelector('#verify .fault')!.textContent !== '' || !document.querySelector<HTMLElement>(
      '#verify .answer',
    )!.hidden);
    await shoot(page, 'plan');
  });

  test('frames that see no pole are recognised as the command line does it; the whole sky is had when they need it', async () => {
    const house = join(scratchFolder(), 'house');
    const made = poleward(
      'simulate', '--out', house, '--toward', '20,-2', '--rotations', '0,-8', '--size', '640x480', '--focal-length', '60',
      '--pixel-size', '5.6',
    );
    expect(made.status, made.err).toBe(0);
    const frames = [1, 2].map((n) => join(house, `frame-${n}.fits`));
    // Without this hint the search takes seconds, on either front.
    const near = '44°,20';
    const expected = comparable(JSON.parse(poleward('measure', ...frames, '--near', near, '--json').out) as MeasurementRecord);
    const bare = await openPage(browser, server.url, PHONE, await browser.newContext({ viewport: PHONE, serviceWorkers: 'block' }));
    const sky = (): number => bare.asked.filter((address) => address.endsWith('/sky.bin')).length;
    expect(sky()).toBe(0);
    for (const at of [bare.page, single.page]) {
      await set(at, { near });
      await give(at, frames, 2);
      expect((await answersOf(at)).map(comparable)).toEqual([expected]);
    }
    expect(sky()).toBe(1);
    expect(bare.complaints.filter((text) => !text.startsWith('Service Worker registration blocked'))).toEqual([]);
  });

  test('neither form has asked anything of anyone else, or complained of anything', () => {
    for (const [{ asked, complaints }, url] of [[folder, server.url], [single, SINGLE]] as const) {
      expect(asked.length).toBeGreaterThan(0);
      expect(asked.filter((address) => !address.startsWith(url) && !/^(data|blob):/.test(address))).toEqual([]);
      expect(complaints).toEqual([]);
    }
  });
});

/** Writes a file into the folder that the page watches, as capture software does. */
async function saveToFolder(page: Page, name: string, bytes: Uint8Array): Promise<void> {
  await page.evaluate(async ([file, text]) => {
    const handle = await (await navigator.storage.getDirectory()).getFileHandle(file!, { create: true });
    const writing = await handle.createWritable();
    await writing.write(Uint8Array.from(atob(text!), (c) => c.charCodeAt(0)));
    await writing.close();
  }, [name, Buffer.from(bytes).toString('base64')]);
}

/** Pixels that hold other light than red. */
async function notRed(png: Buffer): Promise<number> {
  const { data, info } = await sharp(png).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  let count = 0;
  for (let at = 0; at < data.length; at += info.channels) if (Math.max(data[at + 1]!, data[at + 2]!) > 0) count++;
  return count;
}

/** Contrast of two colours, 0 to 255 each channel (WCAG 2.2, "contrast ratio"). */
function contrast(a: readonly number[], b: readonly number[]): number {
  const luminance = (colour: readonly number[]): number => {
    const [r, g, blue] = colour.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r! + 0.7152 * g! + 0.0722 * blue!;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high! + 0.05) / (low! + 0.05);
}

/** In the dark on a phone, by day on a laptop. All states in all four: `npx tsx test/page/shots.ts`. */
async function shoot(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: join(shots, `${name}-phone-dark.png`) });
  await page.setViewportSize(LAPTOP);
  await page.click('#day');
  await page.screenshot({ path: join(shots, `${name}-laptop-day.png`) });
  await page.click('#day');
  await page.setViewportSize(PHONE);
}
