import { byName } from '../fileName.js';
import { apartWords, offsetWords } from '../frames/clockDoubts.js';
import { DEGREE } from '../geometry/angle.js';
import type { Remedy } from '../remedy.js';
import { frameContradictions } from './frameContradictions.js';
import type { TimedFrame } from './frameTime.js';
import type { Warning } from './warning.js';

/** No star near the pole is visible in a brighter sky than this. */
const DAYLIGHT = -4 * DEGREE;
/**
 * The most hours between a zone and the longitude's own time, daylight saving included: the largest today are near 3 (IANA tz database:
 * Asia/Shanghai in the west of China, +08:00 at 74° east).
 */
const ZONE_OFF = 3.6;
const HOUR_ANGLE = 15 * DEGREE;
const CORRECT = '. If the clock is ahead of UTC, have that taken off.';
const COST = 'An hour wrong turns the direction of the answer by 15° and leaves its size';

/**
 * Signs of a wrong clock: a file that contradicts itself, a zone far from the longitude's, a time in daylight, two exposures at one time,
 * file names that contradict the order of times. A clock that is wrong by the same amount in all frames of a night can't be seen: the same
 * stars then fit an axis turned about the pole. One frame alone that is wrong among three or more shows as `not-one-rotation`, unless the
 * axis is close to the pole.
 *
 * @param today the computer's date; null where it is not given
 */
export function checkClock(frames: readonly TimedFrame[], today: Date | null = null): Warning[] {
  return [
    ...frameContradictions(frames, today), ...contradictions(frames), ...otherZone(frames), ...strangeZone(frames), ...strangeTimes(frames),
  ];
}

function contradictions(frames: readonly TimedFrame[]): Warning[] {
  const doubtful = frames.filter((f) => f.doubts !== undefined && f.doubts.length > 0);
  const [first] = doubtful;
  if (!first) return [];
  const others = doubtful.length > 1 ? ` (${doubtful.length - 1} more frames alike)` : '';
  return [suspect(`${first.file} contradicts itself about the time${others}: ${first.doubts![0]} ${COST}. Find out which clock is `
    + `right${CORRECT}`, ['clock-ahead'])];
}

/** A zone in the file that is not used because another was given: how the answer would differ with it. */
function otherZone(frames: readonly TimedFrame[]): Warning[] {
  const first = frames.find((f) => f.overruledZone !== undefined && f.utcOffsetMinutes !== undefined);
  if (!first) return [];
  const { value: own, from } = first.overruledZone!;
  const given = first.utcOffsetMinutes!;
  const off = given - own;
  const apart = `${apartWords(off * 60_000)} ${off > 0 ? 'later' : 'earlier'}`;
  return [suspect(`${first.file} says that its clock is on UTC ${offsetWords(own)} (${from}); the zone given, ${offsetWords(given)}, `
    + `counts. With its own the time would be ${apart} and the direction of the answer turned by ${Math.abs(off) / 4}°. `
    + `Leave the zone out where the file's is right.`)];
}

function strangeZone(frames: readonly TimedFrame[]): Warning[] {
  for (const { file, utcOffsetMinutes, longitude } of frames) {
    if (utcOffsetMinutes === undefined || longitude === undefined) continue;
    const own = longitude / HOUR_ANGLE;
    const off = utcOffsetMinutes / 60 - own;
    if (Math.abs(off - Math.round(off / 24) * 24) <= ZONE_OFF) continue;
    const says = utcOffsetMinutes === 0 ? 'its local time is the same as its UTC' : `its clock is on UTC ${offsetWords(utcOffsetMinutes)}`;
    return [suspect(`By ${file} ${says}, yet the Sun's time at this longitude is UTC ${offsetWords(Math.round(own) * 60)}. ${COST}. `
      + `Check the zone, and the longitude's sign${CORRECT}`, ['clock-ahead'])];
  }
  return [];
}

function strangeTimes(frames: readonly TimedFrame[]): Warning[] {
  const day = frames.find((f) => f.sunAltitude !== null && f.sunAltitude > DAYLIGHT);
  if (day) {
    const height = (day.sunAltitude! / DEGREE).toFixed(0);
    return [suspect(`${day.file} says ${clock(day.time)} UTC, when the Sun stood at ${height}° there, yet it shows stars. ${COST}. `
      + `Check the camera clock's zone and date, and the longitude's sign${localHint(day)}${CORRECT}`, ['clock-ahead'])];
  }
  for (let i = 0; i < frames.length; i++) {
    for (let k = i + 1; k < frames.length; k++) {
      const [a, b] = [frames[i]!, frames[k]!];
      if (a.time.getTime() === b.time.getTime()) {
        return [suspect(`${a.file} and ${b.file} say they were taken at the same moment, ${clock(a.time)} UTC. If the clock stood `
          + `still, the sky's motion between them counts as the mount's: a minute costs up to a quarter of a degree of turn. Check `
            + `how the frames get their times.`)];
      }
    }
  }
  const named = [...frames].sort((a, b) => byName(a.file, b.file));
  // Names in different folders have no order in time.
  const backward = named.findIndex((f, i) => i > 0 && f.time < named[i - 1]!.time && folder(f) === folder(named[i - 1]!));
  if (named.length >= 3 && backward > 0) {
    return [suspect(`${named[backward]!.file} was taken before ${named[backward - 1]!.file} by their times, after it by their names. `
      + `${COST}. If the clock was set in between, measure anew.`)];
  }
  return [];
}

/** What to give where the clock that is taken for UTC shows local time. */
function localHint({ longitude }: TimedFrame): string {
  const hours = longitude === undefined ? 0 : Math.round(longitude / HOUR_ANGLE);
  return hours === 0 ? '' : `; local time here is near UTC ${offsetWords(hours * 60)}`;
}

function folder({ file }: TimedFrame): string {
  return file.replace(/[^/\\]*$/, '');
}

function suspect(message: string, remedies: readonly Remedy[] = []): Warning {
  return { code: 'clock-suspect', message, ...(remedies.length > 0 ? { remedies } : {}) };
}

function clock(time: Date): string {
  return time.toISOString().slice(0, 19).replace('T', ' ');
}
