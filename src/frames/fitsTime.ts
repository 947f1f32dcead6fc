import type { SaidZone } from './cameraZone.js';
import { parseDateTime, parseDay, parseTime } from './dateText.js';
import type { FitsHeaders, FitsValue } from './fitsCard.js';
import type { FrameMetadata } from './frame.js';
import { type TimeScale, timeScaleNamed, toUtc } from './timeScale.js';
import { givenOffset } from './zoneGiven.js';

/** A time in a keyword, and how much of the exposure lies before it: 0 at its start, 1/2 in the middle, 1 at its end. */
interface Reading {
  readonly clock: number;
  readonly offsetMinutes: number | null;
  readonly part: 0 | 0.5 | 1;
  readonly from: string;
  /** Local time, whatever TIMESYS says. */
  readonly local?: boolean;
}

const DATE_KEYWORDS = [['DATE-AVG', 0.5], ['DATE-OBS', 0], ['DATE-BEG', 0], ['DATE-END', 1]] as const;
/** Together with a DATE-OBS without time of day: common practice before 1999. */
const TIME_KEYWORDS = ['TIME-OBS', 'UTC-OBS', 'UT', 'UTC', 'UTSTART', 'TIME-BEG'];
/** Days; Julian dates count from noon. JD: common practice for the start of the exposure. */
export const DAY_KEYWORDS = [['MJD-AVG', 0.5], ['MJD-OBS', 0], ['MJD-BEG', 0], ['JD', 0], ['JD-OBS', 0]] as const;
/** Local time at the start of the exposure, where a header has nothing else: common practice. */
export const LOCAL_DATES = ['DATE-LOC', 'DATE-LT', 'LOCALTIM'];
const MJD_OF_1970 = 40587;
const JD_OF_1970 = 2440587.5;

/**
 * Middle of the exposure, UTC, from the first usable of DATE-AVG, DATE-OBS, DATE-BEG, DATE-END and their MJD and JD forms, else from a
 * local time (DATE-LOC). They are UTC unless TIMESYS names another scale. A local clock needs its `zone`, which never shifts a time that is
 * UTC. What could not be used is said in `remarks`. Source: FITS Standard 4.0 (2018), section 9.
 */
export function fitsMidExposure(
  headers: FitsHeaders,
  exposureSeconds: number | null,
  zone: SaidZone | null,
  remarks: string[],
): Pick<FrameMetadata, 'midExposure' | 'unzonedClock'> {
  const reading = firstReading(headers, remarks);
  if (reading === null) {
    remarks.push('The header gives no usable time (DATE-AVG, DATE-OBS, DATE-BEG, DATE-END, MJD-OBS, JD).');
    return { midExposure: null };
  }
  const scale = reading.local ? 'unzoned' : timeScaleOf(headers);
  let { from } = reading;
  let utc: number;
  if (reading.offsetMinutes !== null) {
    utc = reading.clock - reading.offsetMinutes * 60_000;
  } else if (scale !== 'unzoned') {
    utc = toUtc(reading.clock, scale);
    if (scale !== 'UTC') from += ` (${scale})`;
  } else if (zone !== null) {
    const given = givenOffset(zone, reading.clock, from);
    if ('problem' in given) {
      remarks.push(given.problem);
      return { midExposure: null };
    }
    utc = reading.clock - given.minutes * 60_000;
    from += ` and ${given.from}`;
  } else {
    const why = reading.local ? 'it is a local time' : `TIMESYS is ${String(headers.get('TIMESYS'))}`;
    remarks.push(`${from} was ignored: ${why}, whose offset from UTC is unknown. Give its zone.`);
    return { midExposure: null, unzonedClock: { value: reading.clock, from } };
  }
  if (reading.part !== 0.5) {
    if (exposureSeconds === null) {
      remarks.push(`The exposure is unknown, so ${from} is taken as its middle.`);
    } else {
      utc += (0.5 - reading.part) * exposureSeconds * 1000;
      from += reading.part === 0 ? ' + half the exposure' : ' - half the exposure';
    }
  }
  return { midExposure: { value: new Date(utc), from } };
}

function firstReading(headers: FitsHeaders, remarks: string[]): Reading | null {
  for (const [keyword, part] of DATE_KEYWORDS) {
    const text = headers.get(keyword);
    if (text === undefined || text === null || text === '') continue;
    const from = `FITS ${keyword}`;
    const whole = typeof text === 'string' ? parseDateTime(text) : null;
    if (whole) return { ...whole, part, from };
    const day = typeof text === 'string' ? parseDay(text) : null;
    const timeKeyword = TIME_KEYWORDS.find((key) => headers.has(key));
    const time = timeKeyword === undefined ? undefined : headers.get(timeKeyword);
    const timeOfDay = typeof time === 'string' ? parseTime(time.replace(/Z$/i, '')) : null;
    if (day !== null && timeOfDay !== null) {
      return { clock: day + timeOfDay, offsetMinutes: null, part, from: `${from} and ${timeKeyword}` };
    }
    remarks.push(`${from} was ignored: "${String(text)}" is ${day === null ? 'not a date and time' : 'a date without a time of day'}.`);
  }
  for (const [keyword, part] of DAY_KEYWORDS) {
    const days = headers.get(keyword);
    if (days === undefined || days === null) continue;
    const clock = clockOfDay(keyword, days);
    if (clock !== null) return { clock, offsetMinutes: null, part, from: `FITS ${keyword}` };
    remarks.push(`FITS ${keyword} was ignored: ${String(days)} is not a date from 1900 to 2199.`);
  }
  for (const keyword of LOCAL_DATES) {
    const text = headers.get(keyword);
    const whole = typeof text === 'string' ? parseDateTime(text) : null;
    if (whole) return { ...whole, part: 0, from: `FITS ${keyword}`, local: true };
  }
  return null;
}

/** The scale of a header's times; UTC where it names none. */
export function timeScaleOf(headers: FitsHeaders): TimeScale {
  const timesys = headers.get('TIMESYS');
  return timeScaleNamed(typeof timesys === 'string' ? timesys : 'UTC');
}

/** The clock at a (modified) Julian date of one of {@link DAY_KEYWORDS}; null outside the years that dates may have. */
export function clockOfDay(keyword: string, days: FitsValue | undefined): number | null {
  const clock = typeof days === 'number' ? (days - (keyword.startsWith('MJD') ? MJD_OF_1970 : JD_OF_1970)) * 86_400_000 : NaN;
  return clock >= Date.UTC(1900, 0) && clock < Date.UTC(2200, 0) ? clock : null;
}
