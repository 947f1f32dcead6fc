import { apartWords, clockWords, looksLike, withinDay, zoneOf } from './clockDoubts.js';
import { parseDateTime, parseTime } from './dateText.js';
import type { FitsHeaders } from './fitsCard.js';
import type { Sourced } from './frame.js';
import { DAY_KEYWORDS, LOCAL_DATES, clockOfDay, timeScaleOf } from './fitsTime.js';
import { toUtc } from './timeScale.js';

/** What else a header says of the time, compared with the time that is used. */
export interface FitsClocks {
  /** Sentences: where the header contradicts itself. */
  readonly doubts: readonly string[];
  /** East of UTC: the zone that a local time in the header shows; null where there is none. */
  readonly utcOffsetMinutes: Sourced<number> | null;
}

const DATES = ['DATE-AVG', 'DATE-OBS', 'DATE-BEG', 'DATE-END'] as const;
/** UTC: common practice. Some contain the date too. */
const TIMES_OF_DAY = ['UTC-OBS', 'UT', 'UTC', 'UTSTART', 'TIME-OBS', 'TIME-BEG'];
/** Local time: common practice. */
const LOCAL_KEYWORDS = [...LOCAL_DATES, 'LOCTIME', 'LOC-TIME', 'LT-OBS'];
/** How far outside the exposure another time may be: rounding, and reading out the camera. Milliseconds. */
const SLACK = 60_000;
/** A Julian date is often cut to three or four decimals: 86 s. */
const DAY_SLACK = 150_000;
/** The end is often taken when the picture has been read out or saved. */
const END_SLACK = 300_000;

/** Compares every time in a header with the one that is used: `mid`, the middle of the exposure. */
export function fitsClocks(headers: FitsHeaders, mid: Sourced<Date> | null, exposureSeconds: number | null): FitsClocks {
  if (!mid) return { doubts: [], utcOffsetMinutes: null };
  const half = (exposureSeconds ?? 0) * 500;
  const [start, end] = [mid.value.getTime() - half, mid.value.getTime() + half];
  const used = (keyword: string): boolean => new RegExp(`(^| )${keyword}( |$)`).test(mid.from);
  const doubts: string[] = [];
  const compare = (keyword: string, utc: number, slack: number, day: boolean): void => {
    const off = (ms: number): number => (day ? ms : withinDay(ms));
    const late = off(utc - end), early = off(utc - start);
    if (late <= slack && early >= -slack) return;
    if (!day && (Math.abs(late) <= slack || Math.abs(early) <= slack)) return;
    const difference = Math.abs(early) < Math.abs(late) ? early : late;
    const says = day ? clockWords(utc) : clockWords(utc).slice(11);
    const other = `${mid.from.split(' + ')[0]!.split(' - ')[0]!} makes it ${clockWords(start)} UTC`;
    doubts.push(`FITS ${keyword} says ${says} where ${other}, ${apartWords(difference)} apart.${looksLike(difference)}`);
  };

  const scale = timeScaleOf(headers);
  for (const keyword of DATES) {
    const value = headers.get(keyword);
    const reading = typeof value === 'string' ? parseDateTime(value) : null;
    if (!reading || used(keyword) || (scale === 'unzoned' && reading.offsetMinutes === null)) continue;
    const utc = reading.offsetMinutes !== null ? reading.clock - reading.offsetMinutes * 60_000 : toUtc(reading.clock, scale as 'UTC');
    compare(keyword, utc, keyword === 'DATE-END' ? END_SLACK : SLACK, true);
  }
  for (const [keyword] of DAY_KEYWORDS) {
    const clock = clockOfDay(keyword, headers.get(keyword));
    if (clock !== null && !used(keyword) && scale !== 'unzoned') compare(keyword, toUtc(clock, scale), DAY_SLACK, true);
  }
  for (const keyword of TIMES_OF_DAY) {
    const value = headers.get(keyword);
    if (typeof value !== 'string' || used(keyword)) continue;
    const whole = parseDateTime(value);
    if (whole) compare(keyword, whole.clock - (whole.offsetMinutes ?? 0) * 60_000, SLACK, true);
    else {
      const time = parseTime(value.replace(/Z$/i, ''));
      if (time !== null) compare(keyword, time, SLACK, false);
    }
  }
  doubts.push(...writtenTooEarly(headers, end));
  return { doubts: [...doubts, ...localDoubts(headers, start, end, used)], utcOffsetMinutes: zoneShown(headers, start, end, used) };
}

/** DATE is when the header was written, UTC (FITS 4.0, section 4.4.2.1): not before the exposure ended. */
function writtenTooEarly(headers: FitsHeaders, end: number): string[] {
  const date = headers.get('DATE');
  const written = typeof date === 'string' ? parseDateTime(date) : null;
  if (!written) return [];
  const utc = written.clock - (written.offsetMinutes ?? 0) * 60_000;
  if (utc >= end - SLACK) return [];
  const early = `${apartWords(end - utc)} before its exposure was over.${looksLike(end - utc)}`;
  return [`FITS DATE says the file was written at ${clockWords(utc)} UTC, ${early}`];
}

function localReading(headers: FitsHeaders, used: (keyword: string) => boolean): { keyword: string; clock: number; whole: boolean } | null {
  for (const keyword of LOCAL_KEYWORDS) {
    const value = headers.get(keyword);
    if (typeof value !== 'string' || used(keyword)) continue;
    const whole = parseDateTime(value);
    if (whole) return { keyword, clock: whole.clock, whole: true };
    const time = parseTime(value);
    if (time !== null) return { keyword, clock: time, whole: false };
  }
  return null;
}

function differenceOf(local: { clock: number; whole: boolean }, start: number, end: number): { zone: number | null; difference: number } {
  const candidates = [start, end, (start + end) / 2].map((utc) => (local.whole ? local.clock - utc : withinDay(local.clock - utc)));
  const difference = candidates[0]!;
  for (const candidate of candidates) {
    const zone = zoneOf(candidate);
    if (zone !== null) return { zone, difference };
  }
  return { zone: null, difference };
}

function localDoubts(headers: FitsHeaders, start: number, end: number, used: (keyword: string) => boolean): string[] {
  const local = localReading(headers, used);
  if (!local) return [];
  const { zone, difference } = differenceOf(local, start, end);
  if (zone !== null) return [];
  const apart = `${apartWords(difference)} ${difference < 0 ? 'behind' : 'ahead of'} the UTC of the header`;
  return [`FITS ${local.keyword} is ${apart}, which no zone is.${looksLike(difference)}`];
}

function zoneShown(headers: FitsHeaders, start: number, end: number, used: (keyword: string) => boolean): Sourced<number> | null {
  const local = localReading(headers, used);
  const zone = local && differenceOf(local, start, end).zone;
  return local && zone !== null ? { value: zone, from: `FITS ${local.keyword} less UTC` } : null;
}
