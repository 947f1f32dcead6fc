import { ARCMINUTE, ARCSECOND, DEGREE } from '../../geometry/angle.js';
import { decimals } from '../../geometry/angleWords.js';
import { median } from '../../numeric/median.js';
import { NIGHT_CAUTIONS, settingUp } from '../../run/prepareSteps.js';
import type { FieldSize } from '../../run/prepareField.js';
import type { Turning } from '../../run/prepareRotation.js';
import { offsetWords } from '../../frames/clockDoubts.js';
import type { Dark } from '../../sky/darkness.js';
import { MAGNETIC_MODEL } from '../../sky/magneticNorth.js';
import { phaseName } from '../../sky/moon.js';
import { wrap } from '../words/numberWords.js';
import type { RemedyWords } from '../../remedy.js';
import { shortSource } from '../given/rigInForce.js';
import type { PreparationSheet } from './prepareSheet.js';
import { siteText } from '../words/siteText.js';

const WIDTH = 60;
const LABEL = 15;
/** The most detections that the identification uses. */
const MOST_USED = 500;

/**
 * The sheet for a person, 60 columns: what to set and when, then how to take the frames.
 *
 * @param full also where the pole star is, what the forecast rests on, the order of work and the cautions
 */
export function preparationText(sheet: PreparationSheet, words: RemedyWords, full = true): string {
  const { preparation: p } = sheet;
  const frames = [...frameRows(sheet, words, full), ...payloadRows(sheet, words)].join('\n');
  return [
    wrap(`night of ${dateText(p.night.noon, sheet)}, times ${zoneText(sheet)}${otherDay(sheet)}`, WIDTH, '  '),
    [scaleRow(sheet), bearingRow(sheet), ...darkRows(sheet), moonRow(sheet)].join('\n'),
    ...(full ? [starTable(sheet)] : []),
    frames,
    ...(full ? afterFrames(sheet) : []),
  ].join('\n\n');
}

/** The order of setting up, the cautions, the site. */
function afterFrames({ preparation: p, site }: PreparationSheet): string[] {
  return [
    ['setting up', ...settingUp(p.hemisphere).map(({ text }, i) => wrap(`${i + 1} ${text}`, WIDTH, '  '))].join('\n'),
    ['take care', ...NIGHT_CAUTIONS.map(({ text }) => wrap(`- ${text}`, WIDTH, '  '))].join('\n'),
    siteText(site),
  ];
}

/** What to know before leaving home; empty where there is nothing. */
export function preparationWarningsText({ warnings }: PreparationSheet): string {
  return warnings.map(({ message }) => wrap(`warning: ${message}`, WIDTH, '  ')).join('\n');
}

function row(label: string, text: string): string {
  return wrap(text, WIDTH - LABEL).split('\n').map((line, i) => `${(i === 0 ? label : '').padEnd(LABEL)}${line}`).join('\n');
}

function scaleRow({ preparation: { scale, lift } }: PreparationSheet): string {
  const air = lift > 0.05 * ARCMINUTE ? `; the air lifts the pole by ${(lift / ARCMINUTE).toFixed(1)}′, less than a scale shows` : '';
  return row('latitude scale', `${(scale / DEGREE).toFixed(2)}°${air}`);
}

function bearingRow({ preparation: { magnetic, bearing, hemisphere } }: PreparationSheet): string {
  const label = hemisphere === 1 ? 'true north' : 'true south';
  if (magnetic.use === 'useless') return row(label, 'no compass here, see the warning');
  const digits = decimals(magnetic.sigma / DEGREE, 1);
  const off = magnetic.declination / DEGREE;
  return row(label, `${((bearing / DEGREE) % 360).toFixed(digits)}° on the compass, whose needle points ${Math.abs(off).toFixed(digits)}° `
    + `${off < 0 ? 'west' : 'east'} of true north `
    + `± ${(magnetic.sigma / DEGREE).toFixed(1)}° (${MAGNETIC_MODEL.name}, ${MAGNETIC_MODEL.from.getUTCFullYear()}.0 to `
    + `${MAGNETIC_MODEL.until.getUTCFullYear()}.0). Keep it away from steel`);
}

function darkRows(sheet: PreparationSheet): string[] {
  const { dark, nextDark } = sheet.preparation;
  const lowest = `lowest ${degrees(dark.lowestSun)} at ${clock(dark.middle, sheet)}`;
  if (dark.nautical.kind === 'none') {
    const when = nextDark ? `the next dark night is that of ${dateText(nextDark, sheet)}` : 'nor within a year';
    const down = dark.sunDown.kind === 'none' ? 'the Sun does not set' : 'the Sun stays above −12°';
    return [row('no darkness', `${down} (${lowest}); ${when}`)];
  }
  return [
    row('dark', `${span(dark.nautical, sheet)} (Sun below −12°)`),
    dark.astronomical.kind === 'none' ? row('fully dark', `never, the Sun stays above −18° (${lowest})`)
      : row('fully dark', `${span(dark.astronomical, sheet)} (below −18°)`),
  ];
}

function span(dark: Dark, sheet: PreparationSheet): string {
  if (dark.kind === 'none') return 'never';
  return dark.kind === 'all' ? 'all day and night' : `${clock(dark.from, sheet)} to ${clock(dark.to, sheet)}`;
}

function moonRow(sheet: PreparationSheet): string {
  const { moon, moonUp, night } = sheet.preparation;
  const up = moonUp.map(({ from, to }) => (from && to ? `${clock(from, sheet)} to ${clock(to, sheet)}`
    : from ? `from ${clock(from, sheet)}` : to ? `until ${clock(to, sheet)}` : 'all the time'));
  const when = up.length === 0 ? 'below the horizon' : `up ${up.join(' and ')}`;
  const bright = moon.lit > 0.5 && moonUp.length > 0 ? '; its light costs faint stars' : '';
  return row('Moon', `${phaseName(moon.elongation)}, ${(100 * moon.lit).toFixed(0)} % lit, ${(moon.fromPole / DEGREE).toFixed(0)}° from `
    + `the pole, ${when}`
    + `${moonUp.some(({ to }) => to === null || to > night.noon) ? bright : ''}`);
}

function starTable(sheet: PreparationSheet): string {
  const { star, starPlaces } = sheet.preparation;
  const middle = median(starPlaces.map(({ place }) => place.distance));
  return [
    wrap(`${star.name}, ${(middle / ARCMINUTE).toFixed(1)}′ from the pole of date; on a clock's face with 12 at the top`, WIDTH, '  '),
    'time   hour angle  upright scope  inverting scope',
    ...starPlaces.map(({ time, place }) => {
      const minutes = Math.round((place.hourAngle / (2 * Math.PI)) * 1440) % 1440;
      const angle = `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
      return `${clock(time, sheet)}  ${angle.padEnd(12)}${face(place.upright).padEnd(15)}${face(place.inverting)}`;
    }),
  ].join('\n');
}

/** "1:30" for 1.5 hours on a clock's face. */
function face(hours: number): string {
  const minutes = Math.round(hours * 60) % 720;
  return `${Math.floor(minutes / 60) || 12}:${String(minutes % 60).padStart(2, '0')}`;
}

function frameRows(sheet: PreparationSheet, words: RemedyWords, full: boolean): string[] {
  const { preparation: { field, exposure, rotation, precision }, missing, camera, exposureGiven, rigFile } = sheet;
  const short = (from: string): string => shortSource(from, rigFile);
  const rows: string[] = [];
  if (field) rows.push(row(
    'field', `${size(field.widthDeg, field)} × ${size(field.heightDeg, field)}, ${field.arcsecPerPixel.toPrecision(3)}″ a pixel`,
  ));
  if (!exposure || !rotation) {
    rows.push(row('frames', `${field ? 'exposure' : 'field, exposure'} and rotation can't be told: give ${listed(missing.map(words))}`));
    return rows;
  }
  const { skyMagnitude: sky, readNoiseElectrons: noise, fwhmPixels: fwhm } = camera;
  const many = exposure.stars >= MOST_USED
    ? `far more stars than needed (${MOST_USED} are used)`
    : `about ${exposure.stars.toFixed(0)} stars of the catalogue`;
  rows.push(
    row('expose', `${exposure.exposureSeconds} s${exposureGiven ? ' as given' : ''}: ${many}, to magnitude `
      + `${exposure.faintestMagnitude.toFixed(1)} on a clear night`
      + `${exposureGiven || exposure.fewStars ? '' : '; enough through thin haze'}. ${trail(exposure.trailPixels)}`),
    ...(full ? [row(
      '',
      `sky ${sky.value} mag/″² (${short(sky.from)}), read noise ${noise.value} e⁻ (${short(noise.from)}), stars ${fwhm?.value.toFixed(1)} `
        + `px wide (${short(fwhm?.from ?? '')}); gain does not matter`,
    )] : []),
  );
  const { advised } = rotation;
  if (!advised) rows.push(row('turn', 'no plan, see the warning'));
  else {
    const { up, east } = advised.precision;
    rows.push(row(
      'turn',
      `${turnDegrees(advised)}° in all, ${advised.frames} frames, ${(advised.turn / DEGREE / (advised.frames - 1)).toFixed(0)}° from each `
        + `to the next: uncertainty ${arcsec(up)} up and down, ${arcsec(east)} sideways (1σ, wanted ${arcsec(precision)})`,
    ));
    const reaching = rotation.least.flatMap(({ turning }) => (turning ? [turning] : []));
    const alike = new Set(reaching.map(turnDegrees)).size === 1;
    const least = alike ? `even ${turnDegrees(reaching[0]!)}° would reach it, with ${reaching[0]!.frames} frames or more`
      : `least that reaches it: ${reaching.map((t) => `${t.frames} frames ${turnDegrees(t)}°`).join(', ')}`;
    if (full && reaching.length > 0) rows.push(row('', `${least}. The third frame shows a slip, the fourth which frame it was`));
  }
  return rows;
}

function trail(pixels: number): string {
  return pixels < 1
    ? `Drive on or off: corner stars trail ${pixels.toFixed(1)} px`
    : `Drive on: without it corner stars trail ${pixels.toFixed(1)} px`;
}

function payloadRows({ preparation: { payload }, missingWeight }: PreparationSheet, words: RemedyWords): string[] {
  if (missingWeight) return [row('payload', `can't be judged: give ${words(missingWeight)}`)];
  if (!payload) return [];
  const says = {
    within: 'within the half of common practice', 'over-half': 'over the half of common practice', 'over-rating': 'OVER THE RATING',
  }[payload.verdict];
  return [
    row('payload', `${payload.payloadKilograms} kg of ${payload.capacityKilograms} kg, ${(100 * payload.share).toFixed(0)} %: ${says}`),
  ];
}

function listed(names: readonly string[]): string {
  return names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)!}`;
}

function turnDegrees({ turn }: Turning): string {
  return (turn / DEGREE).toFixed(0);
}

function arcsec(angle: number): string {
  const value = angle / ARCSECOND;
  return value >= 60 ? `${(value / 60).toFixed(1)}′` : `${value.toFixed(1)}″`;
}

/** In arcminutes where the whole field is under a degree. */
function size(deg: number, { widthDeg, heightDeg }: FieldSize): string {
  return Math.max(widthDeg, heightDeg) < 1 ? `${(60 * deg).toFixed(0)}′` : `${deg.toFixed(deg < 10 ? 2 : 1)}°`;
}

function degrees(angle: number): string {
  const text = (angle / DEGREE).toFixed(1);
  return `${text.replace('-', '−')}°`;
}

function shifted(time: Date, { utcOffsetMinutes }: PreparationSheet): string {
  return new Date(time.getTime() + utcOffsetMinutes.value * 60_000).toISOString();
}

/** "18:05" on the clock that the sheet shows, to the nearest minute. */
function clock(time: Date, sheet: PreparationSheet): string {
  return shifted(new Date(Math.round(time.getTime() / 60_000) * 60_000), sheet).slice(11, 16);
}

/** The calendar day at the site in the evening: by the zone if one is given, else by the site's meridian. */
function dateText(noon: Date, sheet: PreparationSheet): string {
  const { site, utcOffsetMinutes, zoneGiven } = sheet;
  const east = zoneGiven ? utcOffsetMinutes.value : (site.longitudeDeg.value - 360 * Math.round(site.longitudeDeg.value / 360)) * 4;
  // Noon by the meridian may be some hours from noon by the zone, but it is never on another day.
  const day = new Date(noon.getTime() + east * 60_000);
  return `${day.getUTCDate()} ${MONTHS[day.getUTCMonth()]!} ${day.getUTCFullYear()}`;
}

/** Where the clock shown has another date in the evening than the site's calendar, the sheet says so. */
function otherDay(sheet: PreparationSheet): string {
  const { noon } = sheet.preparation.night;
  const evening = new Date(noon.getTime() + 6 * 3_600_000);
  const shown = new Date(shifted(evening, sheet));
  const text = `${shown.getUTCDate()} ${MONTHS[shown.getUTCMonth()]!}`;
  return dateText(noon, sheet).startsWith(`${text} `) ? '' : ` (evening: ${text})`;
}

const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

function zoneText({ utcOffsetMinutes: { value } }: PreparationSheet): string {
  return value === 0 ? 'UTC' : `UTC${offsetWords(value).replace('-', '−')}`;
}
