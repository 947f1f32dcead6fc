import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

/** Where systems put Chromium; `CHROMIUM` names another. */
const PLACES = [
  process.env['CHROMIUM'], '/usr/bin/chromium', '/usr/bin/chromium-browser', '/Applications/Chromium.app/Contents/MacOS/Chromium',
  `${process.env['LOCALAPPDATA'] ?? ''}\\Chromium\\Application\\chrome.exe`,
];

export const chromiumPath = PLACES.find((path): path is string => path !== undefined && existsSync(path)) ?? null;

if (chromiumPath === null) process.stderr.write(
  'No Chromium here: the panel\'s browser tests are skipped. Install it, or name it with CHROMIUM=PATH.\n',
);

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: chromiumPath!, args: ['--no-sandbox', '--disable-gpu'] });
}
