import { readFileSync } from 'node:fs';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import type { MeasurementRecord, SessionEntry } from '../../src/night/record/entry.js';

export const PHONE = { width: 360, height: 640 };
export const LAPTOP = { width: 1280, height: 800 };

/** A page that is open, what it asked for, and what it complained of. */
export interface OpenPage {
  readonly context: BrowserContext;
  readonly page: Page;
  readonly asked: string[];
  readonly complaints: string[];
}

/** Opens the page in a profile of its own, or in that of another. */
export async function openPage(browser: Browser, url: string, viewport = PHONE, context?: BrowserContext): Promise<OpenPage> {
  const own = context ?? await browser.newContext({ viewport });
  own.setDefaultTimeout(60_000);
  const page = await own.newPage();
  const asked: string[] = [], complaints: string[] = [];
  own.on('request', (request) => asked.push(request.url()));
  page.on('console', (message) => { if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text()); });
  page.on('pageerror', (error) => complaints.push(String(error)));
  await page.goto(url);
  await ready(page);
  return { context: own, page, asked, complaints };
}

/** Waits until the worker has said what is kept. */
export async function ready(page: Page): Promise<void> {
  await page.locator('html[data-looks]').waitFor({ state: 'attached' });
}

/** Gives frames by the file picker, and waits until they are looks of the night. */
export async function give(page: Page, files: readonly string[], looks: number): Promise<void> {
  await page.setInputFiles('#pick', [...files]);
  await page.locator(`html[data-looks="${looks}"]`).waitFor({ state: 'attached' });
}

/** The entries of the session file that the page saves. */
export async function savedSession(page: Page): Promise<SessionEntry[]> {
  const [saved] = await Promise.all([page.waitForEvent('download'), page.evaluate(() => document.getElementById('saveSession')!.click())]);
  return readFileSync(await saved.path(), 'utf8').trim().split('\n').map((line) => JSON.parse(line) as SessionEntry);
}

/** What was answered, the oldest first. */
export async function answersOf(page: Page): Promise<MeasurementRecord[]> {
  return (await savedSession(page)).flatMap((entry) => (entry.kind === 'answer' ? [entry.measurement] : []));
}
