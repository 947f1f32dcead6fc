import { aimedError } from '../../axis/aim.js';
import { ARCSECOND, DEGREE } from '../../geometry/angle.js';
import { angleWords, uncertainty } from '../../geometry/angleWords.js';
import { type AxisError, horizontal } from '../../axis/axisError.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { adviceWords } from '../../knobs/turnWords.js';
import type { Order, WhatIsSaid } from '../../night/said.js';
import type { LocalSky } from '../../sky/localSky.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import type { Guidance } from './guidance.js';
import type { Measured } from './measureFrames.js';
import { signed, wrap } from '../words/numberWords.js';
import { westward } from './measurementJson.js';
import { leverageText } from '../words/leverageText.js';
import { siteText } from '../words/siteText.js';
import { timeText } from '../words/timeText.js';
import { whereOf } from '../words/whereText.js';
import { directionWithoutSite } from './withoutSite.js';

/** How a front shows an answer: its width in columns, its words for remedies, and its command for the next step. */
export interface TextStyle {
  readonly width: number;
  readonly remedies: RemedyWords;
  /** "then: poleward recheck FRAME"; empty where nothing follows. */
  readonly command: (next: WhatIsSaid['next']) => string;
  /** Also how to turn the second knob, the rig file's own figures, standard air, and the figures for the curious. */
  readonly full: boolean;
}

/** Stars farther from the pole than this are lifted by the air otherwise than the pole is. */
const FAR_FROM_POLE_DEG = 12;

/** The answer for a person at the mount: verdict, how far and how sure, doubt, what to do next; then what was assumed. */
export function measurementText(measured: Measured, guidance: Guidance, said: WhatIsSaid, style: TextStyle): string {
  const { site } = measured;
  const parts = [answerText(measured, said, style)];
  if (site) parts.push(whyText(guidance, style.width, style.full));
  parts.push(assumedText(measured, style.width, style.full));
  if (style.full) parts.push(...fullText(measured, style.width));
  if (site) parts.push(cautionsText(guidance, style.width));
  return parts.filter((part) => part !== '').join('\n\n');
}

/** What the first lines of an answer are made of. `known`: what it answers; a direction without a site is for the first of them. */
export type AnswerShown = Pick<Measured, 'site' | 'measurement'> & { readonly known: readonly { readonly sky: LocalSky }[] };

/** Verdict, how far and how sure, doubt, next: the same on every front. */
export function answerText(measured: AnswerShown, said: WhatIsSaid, style: TextStyle): string {
  const { width } = style;
  const verdict = measured.site ? [verdictText(said, style)] : withoutSite(measured, width);
  const sure = measured.site ? said.sure.map((line) => wrap(line, width, '  ')) : said.sure.slice(1);
  const doubts = said.doubts.map(({ code, message, settle }) => wrap(`in doubt: `
    + `${message}${code === 'turn-sign' ? ` ${settle}` : ''}`, width, '  '));
  const command = style.command(said.next);
  const next = wrap(`next: ${said.next.words}`, width, '  ');
  return [
    verdict.join('\n'), sure.join('\n'), doubts.join('\n'), command === '' ? next : `${next}\n  ${command}`,
  ].filter((part) => part !== '').join('\n\n');
}

/** Whether the axis is near enough, or what each knob must do. */
export function verdictText({ verdict }: WhatIsSaid, style: TextStyle): string {
  // One knob at a time: how the next one is turned is said when it is its turn.
  return verdict.flatMap((order, i) => orderLines(order, i === 0 || style.full, style)).join('\n');
}

function orderLines({ order, how, remedies }: Order, withHow: boolean, { width, remedies: words }: TextStyle): string[] {
  const line = wrap(order, width, '  ');
  return how === '' || !withHow ? [line] : [line, indented(withRemedies(how, remedies, words), width)];
}

/** Where the turns are from: what was learned of the knobs, and with `all` what the rig file says of them. */
export function whyText({ advice, rig }: Guidance, width: number, all = true): string {
  const shown = advice.filter(({ travel }) => all || travel?.from === 'learned');
  const why = shown.map((a) => adviceWords(a, rig, 1).why).filter((w) => w !== '');
  return why.map((w) => wrap(w, width, '  ')).join('\n');
}

/** The cautions that have not been shown in this session. */
export function cautionsText({ cautions }: Guidance, width: number): string {
  return cautions.map(({ text }) => wrap(`- ${text}`, width, '  ')).join('\n');
}

/** A sentence that belongs to the line above. */
function indented(text: string, width: number): string {
  return wrap(text, width - 2).split('\n').map((line) => `  ${line}`).join('\n');
}

/** What was assumed: time, site, air, a line each. `full`: standard air also where it hardly matters, and a rig file's path. */
export function assumedText({ site, known, measurement }: Measured, width: number, full = true): string {
  const time = timeText(known.map(({ frame }) => frame), width);
  const matters = full || measurement.aim === 'true' || known.some((k) => whereOf(k).poleAwayDeg > FAR_FROM_POLE_DEG);
  const lines = [time, site ? siteText(site, width, matters) : '', leverageText(measurement, known, site, width)];
  return lines.filter((line) => line !== '').join('\n');
}

/** The figures for the curious: both poles, the axis, each frame, what the error covers. */
function fullText(measured: Measured, width: number): string[] {
  const { measurement, site } = measured;
  return [...(site ? [numbers(measurement, width)] : []), frames(measured), sources(measurement, width)];
}

function numbers(measurement: AxisResult, width: number): string {
  const { sigma, axis } = measurement;
  const line = (e: AxisError): string =>
    `${angleWords(e.separation, sigma.separation)} (altitude ${signed(angleWords(e.altitude, sigma.altitude))}, azimuth `
      + `${signed(angleWords(e.azimuth, sigma.azimuth))})`;
  const place = horizontal(axis);
  return [
    wrap(`from the refracted pole ${line(measurement.fromRefractedPole)}`, width, '  '),
    wrap(`from the true pole ${line(measurement.fromTruePole)}`, width, '  '),
    wrap(`uncertainty (one sigma) ${uncertainty(sigma.altitude)} in altitude, ${uncertainty(sigma.azimuth)} in azimuth`, width, '  '),
    `axis at altitude ${(place.altitude / DEGREE).toFixed(3)}°, azimuth ${(place.azimuth / DEGREE).toFixed(3)}°`,
  ].join('\n');
}

function withoutSite(measured: AnswerShown, width: number): string[] {
  const { measurement, known } = measured;
  const { separation } = aimedError(measurement);
  const where = directionWithoutSite(measurement, known[0]!.sky);
  return [
    `off the pole by ${angleWords(separation, measurement.sigma.separation)} ± ${uncertainty(measurement.sigma.separation)}`,
    wrap(`toward right ascension ${where.rightAscensionHours.toFixed(2)} h, hour angle at Greenwich `
      + `${where.greenwichHourAngleHours.toFixed(2)} h at the first frame`, width, '  '),
  ];
}

function frames({ measurement, known }: Measured): string {
  const lines = known.map(({ frame, identification }, i) => {
    const on = measurement.frames[i]!;
    const turn = westward(on.turn, measurement.hemisphere) / DEGREE;
    return `  ${signed(turn.toFixed(1))}°  ${String(identification.stars.length).padStart(3)} stars, off `
      + `${on.residualPixels.toFixed(2)} px  ${shortName(frame.file, 26)}`;
  });
  const centre = measurement.frames[0]?.rotationCentre;
  const scale = 1 / (measurement.lens.focalPixels * ARCSECOND);
  const tail = centre ? [`rotation centre at pixel ${centre.x.toFixed(1)}, ${centre.y.toFixed(1)}; ${scale.toPrecision(3)}″ a pixel`] : [];
  return ['turned westward  identified  frame', ...lines, ...tail].join('\n');
}

/** What the sigma includes and what no frame can show. */
function sources(measurement: AxisResult, width: number): string {
  const air = measurement.aim === 'true' ? 'air' : 'air (hardly matters for this pole)';
  return wrap(`The uncertainty includes stars, catalogue, ${air}. It does not include a camera that sags as the mount turns. A camera not `
    + `parallel to the axis does no harm.`, width);
}

/** The end of a long path: it says more than the beginning. */
function shortName(file: string, most: number): string {
  return file.length <= most ? file : `…${file.slice(1 - most)}`;
}
