import type { Page } from 'playwright-core';

/** A task of the page's main thread. Milliseconds; `processor`: what it worked, which a busy machine makes longer by little. */
export interface OwnTask {
  readonly at: number;
  readonly duration: number;
  readonly processor: number;
}

/** As Chromium's trace has an event: microseconds. */
interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly ts: number;
  readonly dur?: number;
  readonly tdur?: number;
  readonly pid: number;
  readonly tid: number;
  readonly args: Readonly<Record<string, unknown>>;
}

const CATEGORIES = ['toplevel', 'devtools.timeline', 'v8.execute', 'blink.user_timing', 'loading', 'blink'];
/**
 * What drives the browser works on the page's thread too: scripts of its own, what it sends, and the page's whole text decoded once more
 * for it (a Chromium that nobody drives does not do that).
 */
const DRIVER = /^v8\.evaluateModule$|^DocumentLoader::BodyLoadingFinished$|DevToolsSession/;

/** The page's own tasks while `act` goes on, from the start of the page's loading, the longest first. */
export async function ownTasks(page: Page, url: string, act: () => Promise<void>): Promise<OwnTask[]> {
  const browser = page.context().browser()!;
  await browser.startTracing(page, { categories: CATEGORIES });
  await act();
  const { traceEvents: events } = JSON.parse((await browser.stopTracing()).toString()) as { traceEvents: TraceEvent[] };
  const begun = events.find((e) => e.name === 'navigationStart' && JSON.stringify(e.args).includes(url));
  if (!begun) throw new Error('the trace does not hold the page');
  const onMain = events.filter((e) => e.ph === 'X' && e.pid === begun.pid && e.tid === begun.tid);
  const drivers = onMain.filter((e) => DRIVER.test(e.name) || DRIVER.test(JSON.stringify(e.args)));
  return onMain.filter((e) => /RunTask$/.test(e.name) && e.ts >= begun.ts)
    .filter((e) => !drivers.some((d) => d.ts >= e.ts && d.ts <= e.ts + (e.dur ?? 0)))
    .map((e) => ({ at: (e.ts - begun.ts) / 1000, duration: (e.dur ?? 0) / 1000, processor: (e.tdur ?? NaN) / 1000 }))
    .sort((a, b) => b.processor - a.processor);
}
