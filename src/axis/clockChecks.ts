import { DEGREE } from '../geometry/angle.js';
import type { Warning } from './warning.js';

/** When a frame says it was taken. */
export interface TimedFrame {
  readonly file: string;
  readonly time: Date;
  /** Altitude of the Sun then and there, radians; null without a site. */
  readonly sunAltitude: number | null;
}

/** No star near the pole shows in a brighter sky than this. */
const DAYLIGHT = -4 * DEGREE;
const COST = 'An hour wrong turns the direction of the answer by 15° and leaves its size';

/**
 * What can be seen of a wrong clock: a time in daylight, two exposures at one moment, file names that run against the
 * times. A clock that is wrong by the same amount in all frames on the night side can't be seen.
 */
export function checkClock(frames: readonly TimedFrame[]): Warning[] {
  const day = frames.find((f) => f.sunAltitude !== null && f.sunAltitude > DAYLIGHT);
  if (day) {
    const height = (day.sunAltitude! / DEGREE).toFixed(0);
    return [suspect(`${day.file} says ${clock(day.time)} UTC, when the Sun stood at ${height}° there, yet it shows stars. ${COST}. Check the camera clock's zone and date, and the longitude's sign.`)];
  }
  for (let i = 0; i < frames.length; i++) {
    for (let k = i + 1; k < frames.length; k++) {
      const [a, b] = [frames[i]!, frames[k]!];
      if (a.time.getTime() === b.time.getTime()) {
        return [suspect(`${a.file} and ${b.file} say they were taken at the same moment, ${clock(a.time)} UTC. If the clock stood still, the sky's motion between them counts as the mount's: a minute costs up to a quarter of a degree of turn. Check how the frames get their times.`)];
      }
    }
  }
  const named = [...frames].sort((a, b) => a.file.localeCompare(b.file, 'en', { numeric: true }));
  const backward = named.findIndex((f, i) => i > 0 && f.time < named[i - 1]!.time);
  if (named.length >= 3 && backward > 0) {
    return [suspect(`${named[backward]!.file} was taken before ${named[backward - 1]!.file} by their times, after it by their names. ${COST}. If the clock was set in between, measure anew.`)];
  }
  return [];
}

function suspect(message: string): Warning {
  return { code: 'clock-suspect', message };
}

function clock(time: Date): string {
  return time.toISOString().slice(0, 19).replace('T', ' ');
}
