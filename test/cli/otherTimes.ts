import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { card } from '../frames/fitsBytes.js';
import { scratchFolder } from './poleward.js';

/** Copies of FITS frames whose time is what `change` makes of it, as cards; none: no time. */
export function otherTimes(files: readonly string[], change: (dateObs: string) => readonly string[]): string[] {
  const folder = scratchFolder();
  return files.map((file, i) => {
    const bytes = readFileSync(file);
    const cards = Array.from({ length: 36 }, (_, k) => bytes.toString('latin1', k * 80, k * 80 + 80));
    const at = cards.findIndex((c) => c.startsWith('DATE-OBS'));
    const date = /'(.*?)'/.exec(cards[at]!)![1]!;
    const all = cards.slice(0, cards.findIndex((c) => c.startsWith('END  '))).filter((c, k) => k !== at && !c.startsWith('TIMESYS'));
    const header = [...all, ...change(date), 'END'.padEnd(80)].join('').padEnd(2880);
    expect(header).toHaveLength(2880);
    const path = join(folder, `frame ${i + 1}.fits`);
    writeFileSync(path, Buffer.concat([Buffer.from(header, 'latin1'), bytes.subarray(2880)]));
    return path;
  });
}

/** When the exposures began, as the frames say it. */
export function startsOf(files: readonly string[]): string[] {
  return files.map((file) => /DATE-OBS= '(.*?)'/.exec(readFileSync(file).toString('latin1', 0, 2880))![1]!);
}

/** The clock on the wall, so many hours ahead of UTC, on a day of that night or another. */
export const localClock = (hours: number) => (date: string): string[] => {
  const shown = new Date(Date.parse(`${date}Z`) + hours * 3_600_000).toISOString().replace('Z', '');
  return [card('DATE-OBS', `'${shown}'`), card('TIMESYS', '\'LOCAL   \'')];
};
