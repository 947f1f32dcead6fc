/**
 * The page in Chromium, in both of its forms: what it answers against the command line, without a network, from a disk, over closed tabs.
 * Screenshots are left in testdata/.cache/page.
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

  test('frames that see no pole are recognised as the command line does it; the whole sky is had when they need it', async () => {
    const house = join(scratchFolder(), 'house');
    const made = poleward(
      'simulate', '--out', house, '--toward', '20,-2', '--rotations', '0,-10,-20', '--focal-length', '105', '--pixel-size', '5.6',
    );
    expect(made.status, made.err).toBe(0);
    const frames = [1, 2, 3].map((n) => join(house, `frame-${n}.fits`));
    // Without this hint the search takes seconds, on either front.
    const near = '44°,20';
    const expected = comparable(JSON.parse(poleward('measure', ...frames, '--near', near, '--json').out) as MeasurementRecord);
    for (const [form, url] of [['folder', server.url], ['single', SINGLE]] as const) {
      const context = await browser.newContext({ viewport: PHONE, serviceWorkers: 'block' });
      const { page, asked, complaints } = await openPage(browser, url, PHONE, context);
      await page.click('nav [data-part="setup"]');
      await page.fill('#setup [name="near"]', near);
      await page.locator('#setup [name="near"]').blur();
      const sky = (): number => asked.filter((address) => address.endsWith('/sky.bin')).length;
      expect(sky()).toBe(0);
      await give(page, frames, 3);
      expect((await answersOf(page)).map(comparable), form).toEqual([expected]);
      expect(sky()).toBe(form === 'folder' ? 1 : 0);
      expect(complaints.filter((text) => !text.startsWith('Service Worker registration blocked'))).toEqual([]);
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

  test('a night that comes into a watched folder is understood as `watch` understands it, over a page closed in the middle', async () => {
    const frames = skyFramePaths('adjusting');
    const { site } = skyTruth('adjusting');
    const folder = scratchFolder();
    let live: Out[] = [];
    await watching(folder, [
      '--latitude', `${site.latitudeDeg}`, '--longitude', `${site.longitudeDeg}`, '--elevation', `${site.elevationMetres}`,
      '--pressure', `${site.pressureHectopascal}`, '--temperature', `${site.temperatureCelsius}`,
    ], async ({ answers, messages }) => {
      for (const [i, frame] of frames.slice(0, 5).entries()) {
        copyFileSync(frame, join(folder, basename(frame)));
        if (i === 0) await messages(/first frame of the night/);
        else live = await answers(i);
      }
    });

    const context = await browser.newContext({ viewport: PHONE });
    // In place of the person's own folder: the browser grants one of its own without being asked.
    await context.addInitScript(() => { Object.assign(window, { showDirectoryPicker: () => navigator.storage.getDirectory() }); });
    let { page } = await openPage(browser, server.url, PHONE, context);
    await page.click('nav [data-part="setup"]');
    for (const [name, value] of Object.entries({
      latitude: site.latitudeDeg, longitude: site.longitudeDeg, elevation: site.elevationMetres, pressure: site.pressureHectopascal,
      temperature: site.temperatureCelsius,
    })) {
      await page.fill(`#setup input[name="${name}"]`, `${value}`);
      await page.locator(`#setup input[name="${name}"]`).blur();
    }
    const watch = async (): Promise<void> => {
      await page.click('nav [data-part="night"]');
      await page.click('#watch');
      await page.getByText('each frame that is saved there').waitFor();
    };
    await watch();
    for (const [i, frame] of frames.slice(0, 5).entries()) {
      if (i === 3) {
        await page.close();
        page = (await openPage(browser, server.url, PHONE, context)).page;
        await page.locator('html[data-looks="3"]').waitFor({ state: 'attached' });
        await watch();
      }
      await saveToFolder(page, basename(frame), readFileSync(frame));
      await page.locator(`html[data-looks="${i + 1}"]`).waitFor({ state: 'attached' });
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
    await shoot(page, 'watched');
    await context.close();
  });

  test('two tabs show one night, and what both give at once is in it', async () => {
    const frames = skyFramePaths('adjusting');
    const a = await openPage(browser, server.url);
    const b = await openPage(browser, server.url, PHONE, a.context);
    const both = (looks: number): Promise<unknown> => Promise.all(
      [a, b].map(({ page }) => page.locator(`html[data-looks="${looks}"]`).waitFor({ state: 'attached' })),
    );
    await a.page.setInputFiles('#pick', frames[0]!);
    await both(1);
    await b.page.setInputFiles('#pick', frames[1]!);
    await both(2);
    await Promise.all([a.page.setInputFiles('#pick', frames[3]!), b.page.setInputFiles('#pick', frames[4]!)]);
    await both(4);
    const looks = (await savedSession(a.page)).flatMap((e) => (e.kind === 'look' ? [e.frame] : []));
    expect([...looks].sort()).toEqual([0, 1, 3, 4].map((i) => basename(frames[i]!)).sort());
    await a.context.close();
  });

  test('a virtual mount is turned, looked at and understood; its night is kept nowhere', async () => {
    const { context, page, complaints } = await openPage(browser, SINGLE);
    await page.click('#practise');
    for (const looks of [1, 2, 3]) {
      await page.click('#benchFrame');
      await page.locator(`html[data-looks="${looks}"]`).waitFor({ state: 'attached' });
      await page.click('#bench button[aria-label="right ascension: 30° west"]');
    }
    const [up, east] = [/([\d.]+)′ too (low|high)/, /([\d.]+)′ too far (west|east)/];
    const said = (await page.locator('#sure').textContent())!;
    await page.click('#benchTruth');
    const truth = page.locator('#truth');
    await truth.filter({ hasText: 'from the true pole' }).waitFor();
    const hidden = (await truth.textContent())!;
    // The page says it of the refracted pole, which stands a minute of arc higher.
    expect(Math.abs(Number(up.exec(said)![1]) - Number(up.exec(hidden.replace(' and ', ', '))![1]))).toBeLessThan(1.3);
    expect(Math.abs(Number(east.exec(said)![1]) - Number(east.exec(hidden)![1]))).toBeLessThan(0.1);
    expect(east.exec(said)![2]).toBe(east.exec(hidden)![2]);
    // Quick taps of the hand add up.
    for (let n = 0; n < 3; n++) await page.click('#azimuth button[aria-label="azimuth: a twentieth clockwise"]');
    expect(await page.locator('#saidText').textContent()).toContain('azimuth 0.15 clockwise');
    await shoot(page, 'practice');
    await page.click('#benchEnd');
    await page.locator('html[data-looks="0"]').waitFor({ state: 'attached' });
    await page.reload();
    await ready(page);
    expect(await page.locator('html').getAttribute('data-looks')).toBe('0');
    expect(complaints).toEqual([]);
    await context.close();
  });

  test('every control can be touched and has a name; nothing stands beside the screen; both themes have contrast enough', async () => {
    const { context, page } = await openPage(browser, server.url);
    await give(page, DEMO, 3);
    for (const theme of ['dark', 'day']) {
      if (theme === 'day') await page.click('#day');
      await page.evaluate(() => { document.documentElement.dataset['step'] = '5'; });
      for (const part of ['night', 'log', 'plan', 'setup']) {
        await page.click(`nav [data-part="${part}"]`);
        for (const size of [PHONE, { width: 640, height: 360 }]) {
          await page.setViewportSize(size);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth);
          expect([part, wide]).toEqual([part, size.width]);
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
        expect([part, found.small, found.nameless]).toEqual([part, [], 0]);
        for (const ink of found.inks) expect(contrast(ink, found.ground), `${theme} ${part} ${ink}`).toBeGreaterThanOrEqual(4.5);
        if (theme !== 'dark') continue;
        expect(found.inks.every(([, green, blue]) => green === 0 && blue === 0)).toBe(true);
        expect([part, await notRed(await page.screenshot())]).toEqual([part, 0]);
      }
    }
    await context.close();
  });

  test('the saved session is the command line\'s, opens again elsewhere, and names of files are never markup', async () => {
    const { context, page } = await openPage(browser, server.url);
    const folder = scratchFolder();
    const rude = join(folder, '<img src=x onerror=document.title=1>.fits');
    copyFileSync(DEMO[2]!, rude);
    await give(page, [DEMO[0]!, DEMO[1]!, rude], 3);
    await page.click('nav [data-part="log"]');
    expect(await page.locator('#looks').textContent()).toContain('<img src=x onerror=');
    expect(await page.locator('#looks img').count()).toBe(0);
    expect(await page.title()).toBe('Poleward');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.click('#saveSession')]);
    const session = join(folder, 'saved.jsonl');
    await saved.saveAs(session);
    const log = poleward('log', '--session', session, '--json');
    expect(log.status, log.err).toBe(0);
    const [report] = await Promise.all([page.waitForEvent('download'), page.click('#saveReport')]);
    expect(readFileSync(await report.path(), 'utf8')).toContain('<title>Polar alignment');
    await shoot(page, 'log');
    await context.close();

    const other = await openPage(browser, SINGLE);
    await other.page.evaluate(() => { location.hash = '#log'; });
    await other.page.setInputFiles('#openSession', session);
    await other.page.locator('html[data-looks="3"]').waitFor({ state: 'attached' });
    expect(await other.page.locator('#verdict').textContent()).toMatch(/^azimuth first: move the axis 24\.3′ west/);
    await other.page.click('#undo');
    await other.page.locator('html[data-looks="2"]').waitFor({ state: 'attached' });
    const kinds = (await savedSession(other.page)).map(({ kind }) => kind);
    expect([kinds.filter((k) => k === 'look').length, kinds.includes('answer')]).toEqual([2, false]);
    await other.context.close();
  });

  test('plans a run, writes the sheet for a night, verifies tracked frames, keeps a rig', async () => {
    const { context, page } = await openPage(browser, server.url);
    await page.click('nav [data-part="setup"]');
    await page.fill('#setup input[name="latitude"]', '47 00 N');
    await page.fill('#setup input[name="longitude"]', '8.5');
    await page.locator('#setup input[name="longitude"]').blur();
    await page.click('#rig >> text=make one');
    await page.fill('#rig input[name="knobs.azimuth.arcminPerTurn"]', '60');
    await page.fill('#rig input[name="camera.focalLengthMillimetres"]', '500');
    await page.fill('#rig input[name="camera.pixelSizeMicrometres"]', '3.8');
    await page.click('#rig >> text=keep this rig');
    await page.locator('#rig >> text=edit it').waitFor();
    await page.click('nav [data-part="plan"]');
    for (const [name, value] of Object.entries({
      declination: 30, hourAngle: -2, hours: 4, exposure: 120, guideOffset: 1, sensor: '6000x4000', altitudeError: 2, azimuthError: 3,
    })) await page.fill(`#budget input[name="${name}"]`, `${value}`);
    await page.click('#budget >> text=what it allows');
    await page.locator('#budget .answer').waitFor();
    const budget = poleward(
      'budget', '--declination', '30', '--hour-angle', '-2', '--hours', '4', '--exposure', '120', '--guide-offset', '1', '--sensor',
      '6000x4000', '--altitude-error', '2', '--azimuth-error', '3', '--latitude', '47', '--focal-length', '500', '--pixel-size', '3.8',
    ).out;
    const beforeSources = (text: string): string => text.slice(0, text.indexOf('error altitude'));
    expect(beforeSources((await page.locator('#budget .answer').textContent())!)).toBe(beforeSources(budget));
    await page.fill('#prepare input[name="date"]', '2026-11-26');
    await page.click('#prepare >> text=the sheet');
    await page.locator('#prepare .answer').waitFor();
    expect(await page.locator('#prepare .answer').textContent()).toContain('dark           ');
    await page.fill('#prepare input[name="date"]', '26.11.');
    await page.click('#prepare >> text=the sheet');
    expect(await page.locator('#prepare .fault').textContent()).toMatch(/is not a date\. Write it like/);
    await page.setInputFiles('#verify input[name="frames"]', DEMO);
    await page.click('#verify >> text=verify');
    await page.waitForFunction(() => document.querySelector('#verify .fault')!.textContent !== '' || !document.querySelector<HTMLElement>(
      '#verify .answer',
    )!.hidden);
    await shoot(page, 'plan');
    await context.close();
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
