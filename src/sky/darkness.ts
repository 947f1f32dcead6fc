import { DEGREE } from '../geometry/angle.js';
import { type Stretch, stretchesBelow } from './crossings.js';
import type { Site } from './site.js';
import { sunAltitude } from './sun.js';

/** A night: from the mean solar noon before it to the one after it. */
export interface NightSpan {
  readonly noon: Date;
  readonly nextNoon: Date;
}

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

/**
 * The night that begins on a calendar day at a site.
 *
 * @param day midnight UTC of the date in the site's calendar in the evening
 * @param utcOffsetMinutes of that calendar, east positive; null = that of the site's own meridian. It decides on which side of the date
 * line the site is
 */
export function nightOf(day: Date, site: Site, utcOffsetMinutes: number | null): NightSpan {
  const meridian = (wrapDegrees(site.longitude / DEGREE) / 15) * HOUR;
  const noonByMeridian = day.getTime() + 12 * HOUR - meridian;
  const noonByZone = day.getTime() + 12 * HOUR - (utcOffsetMinutes === null ? meridian : utcOffsetMinutes * 60_000);
  const noon = noonByMeridian + DAY * Math.round((noonByZone - noonByMeridian) / DAY);
  return { noon: new Date(noon), nextNoon: new Date(noon + DAY) };
}

/** The current night at a time, else the next one. */
export function nightAt(moment: Date, site: Site): NightSpan {
  const meridian = (wrapDegrees(site.longitude / DEGREE) / 15) * HOUR;
  const sinceNoon = (((moment.getTime() + meridian - 12 * HOUR) % DAY) + DAY) % DAY;
  const noon = moment.getTime() - sinceNoon;
  // After midnight the night continues until the Sun is up.
  const over = sinceNoon > DAY / 2 && sunAltitude(moment, site) > SUNSET;
  return { noon: new Date(noon + (over ? DAY : 0)), nextNoon: new Date(noon + (over ? 2 : 1) * DAY) };
}

/** When the Sun is below a given depth: part of the night, all of it, or never. */
export type Dark =
  | { readonly kind: 'from-to'; readonly from: Date; readonly to: Date }
  | { readonly kind: 'all' }
  | { readonly kind: 'none' };

export interface Darkness {
  /** The Sun's upper edge on the horizon of the sea, with standard refraction: centre at -50′. */
  readonly sunDown: Dark;
  /** Below -12°, the end of nautical twilight: stars near the pole become visible. */
  readonly nautical: Dark;
  /** Below -18°, the end of astronomical twilight: the sky is as dark as it gets. */
  readonly astronomical: Dark;
  /** When the Sun is lowest. */
  readonly middle: Date;
  /** Its altitude then, radians. */
  readonly lowestSun: number;
}

const SUNSET = -50 / 60 * DEGREE;
const NAUTICAL = -12 * DEGREE;

/**
 * The times of darkness of a night (Sun's centre, without air except in `sunDown`; Explanatory Supplement, 3rd ed., chapter 12). To a
 * minute.
 */
export function darkness(site: Site, { noon, nextNoon }: NightSpan): Darkness {
  const known = new Map<number, number>();
  const altitude = (time: Date): number => {
    const at = time.getTime();
    const before = known.get(at) ?? sunAltitude(time, site);
    known.set(at, before);
    return before;
  };
  const below = (limit: number): Dark => asDark(stretchesBelow((time) => altitude(time) - limit, noon, nextNoon), noon, nextNoon);
  let middle = noon;
  for (let t = noon.getTime(); t <= nextNoon.getTime(); t += 10 * 60_000) if (altitude(new Date(t)) < altitude(
    middle,
  )) middle = new Date(t);
  return {
    sunDown: below(SUNSET), nautical: below(NAUTICAL), astronomical: below(-18 * DEGREE),
    middle, lowestSun: altitude(middle),
  };
}

/** The first night after this one on which the Sun goes below -12°, within a year; its noon, or null. */
export function nextDarkNight(site: Site, { nextNoon }: NightSpan): Date | null {
  for (let day = 0; day < 366; day++) {
    const noon = new Date(nextNoon.getTime() + day * DAY);
    // The Sun is lowest within a quarter hour of mean midnight, and hardly lower than then.
    if (sunAltitude(new Date(noon.getTime() + DAY / 2), site) < NAUTICAL) return noon;
  }
  return null;
}

/** The longest stretch; near the Earth's poles the Sun may dip more than once between two noons. */
function asDark(stretches: readonly Stretch[], noon: Date, nextNoon: Date): Dark {
  const whole = stretches.map(({ from, to }) => ({ from: from ?? noon, to: to ?? nextNoon, open: from === null && to === null }));
  const longest = whole.sort((a, b) => b.to.getTime() - b.from.getTime() - (a.to.getTime() - a.from.getTime()))[0];
  if (!longest) return { kind: 'none' };
  return longest.open ? { kind: 'all' } : { kind: 'from-to', from: longest.from, to: longest.to };
}

function wrapDegrees(longitudeDeg: number): number {
  return longitudeDeg - 360 * Math.round(longitudeDeg / 360);
}
