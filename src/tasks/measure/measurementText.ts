import { aimedError } from '../../axis/aim.js';
import { ARCSECOND, DEGREE } from '../../geometry/angle.js';
import { type AxisError, horizontal } from '../../axis/axisError.js';
import type { AxisResult } from '../../axis/axisResult.js';
import { adviceWords, moveWords } from '../../knobs/turnWords.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import type { Guidance } from './guidance.js';
import type { Measured } from './measureFrames.js';
import { arcminutes, plusMinus, signed, wrap } from '../words/numberWords.js';
import { westward } from './measurementJson.js';
import { siteText } from '../words/siteText.js';
import { directionWithoutSite } from './withoutSite.js';

/** The measurement for a person at the mount: what to do, how far off, how sure, then the rest. At most 60 columns. */
export function measurementText(measured: Measured, guidance: Guidance, words: RemedyWords): string {
  const { measurement, site } = measured;
  const parts = site ? [ordersText(measurement, guidance, words), numbers(measurement), whyText(guidance)] : [withoutSite(measured)];
  parts.push(frames(measured));
  if (site) parts.push(siteText(site));
  parts.push(sources(measurement), site ? cautionsText(guidance) : '');
  return parts.filter((part) => part !== '').join('\n\n');
}

/** Where the turns are from, and how to learn more. */
export function whyText({ advice, rig }: Guidance): string {
  const why = advice.map((a) => adviceWords(a, rig, 1).why).filter((w) => w !== '');
  return why.map((w) => wrap(w, 60, '  ')).join('\n');
}

/** The cautions that have not been shown in this session. */
export function cautionsText({ cautions }: Guidance): string {
  return cautions.map(({ text }) => wrap(`- ${text}`, 60, '  ')).join('\n');
}

/** What each knob must do: the turn, where it is known what a turn does, then the error. */
export function ordersText(measurement: AxisResult, { advice, rig }: Guidance, words: RemedyWords): string {
  if (!advice.some((a) => a.travel !== null)) return errorsText(measurement);
  const turns = advice.flatMap((a) => {
    const { order, how, remedies } = adviceWords(a, rig, measurement.hemisphere);
    return how === '' ? [wrap(order, 60, '  ')] : [wrap(order, 60, '  '), indented(withRemedies(how, remedies, words))];
  });
  return `${turns.join('\n')}\n\n${errorsText(measurement)}`;
}

/** A sentence that belongs to the line above. */
function indented(text: string): string {
  return wrap(text, 58).split('\n').map((line) => `  ${line}`).join('\n');
}

/** How far each knob is off and which way the axis must go; nothing to do where the error is within its own uncertainty. */
function errorsText(measurement: AxisResult): string {
  const { azimuth, altitude } = aimedError(measurement);
  const { sigma, hemisphere } = measurement;
  const lines: string[] = [];
  if (Math.abs(azimuth) < 2 * sigma.azimuth) {
    lines.push(`azimuth: right within its error (${plusMinus(sigma.azimuth)}), leave it`);
  } else {
    const side = azimuth > 0 ? 'east' : 'west';
    lines.push(wrap(`azimuth: ${arcminutes(Math.abs(azimuth), sigma.azimuth)} too far ${side}, move the axis ${moveWords(azimuth > 0 ? 'west' : 'east', hemisphere)}`, 60, '  '));
  }
  if (Math.abs(altitude) < 2 * sigma.altitude) {
    lines.push(`altitude: right within its error (${plusMinus(sigma.altitude)}), leave it`);
  } else {
    lines.push(`altitude: ${arcminutes(Math.abs(altitude), sigma.altitude)} too ${altitude > 0 ? 'high, lower' : 'low, raise'} the axis`);
  }
  return lines.join('\n');
}

function numbers(measurement: AxisResult): string {
  const { aim, sigma, axis } = measurement;
  const line = (e: AxisError): string =>
    `${arcminutes(e.separation, sigma.separation)} (altitude ${signed(arcminutes(e.altitude, sigma.altitude))}, azimuth ${signed(arcminutes(e.azimuth, sigma.azimuth))})`;
  const place = horizontal(axis);
  const refracted = `from the refracted pole ${line(measurement.fromRefractedPole)}`;
  const truePole = `from the true pole ${line(measurement.fromTruePole)}`;
  return [
    wrap(aim === 'true' ? truePole : refracted, 60, '  '),
    wrap(`sure to ${plusMinus(sigma.altitude).slice(2)} in altitude, ${plusMinus(sigma.azimuth).slice(2)} in azimuth (one sigma)`, 60, '  '),
    wrap(aim === 'true' ? refracted : truePole, 60, '  '),
    `axis at altitude ${(place.altitude / DEGREE).toFixed(3)}°, azimuth ${(place.azimuth / DEGREE).toFixed(3)}°`,
  ].join('\n');
}

/** How far off and how sure, in one line. */
export function sureText(measurement: AxisResult): string {
  const { aim, sigma } = measurement;
  return `${arcminutes(aimedError(measurement).separation, sigma.separation)} from the ${aim} pole, ${plusMinus(sigma.separation)}`;
}

function withoutSite({ measurement, known }: Measured): string {
  const { separation } = measurement.fromRefractedPole;
  const where = directionWithoutSite(measurement, known[0]!.sky);
  return [
    `off the pole by ${arcminutes(separation, measurement.sigma.separation)} ${plusMinus(measurement.sigma.separation)}`,
    wrap(`toward right ascension ${where.rightAscensionHours.toFixed(2)} h, hour angle at Greenwich ${where.greenwichHourAngleHours.toFixed(2)} h at the first frame`, 60, '  '),
  ].join('\n');
}

function frames({ measurement, known }: Measured): string {
  const lines = known.map(({ frame, identification }, i) => {
    const on = measurement.frames[i]!;
    const turn = westward(on.turn, measurement.hemisphere) / DEGREE;
    return `  ${signed(turn.toFixed(1))}°  ${String(identification.stars.length).padStart(3)} stars, off ${on.residualPixels.toFixed(2)} px  ${shortName(frame.file, 26)}`;
  });
  const centre = measurement.frames[0]!.rotationCentre;
  const scale = 1 / (measurement.lens.focalPixels * ARCSECOND);
  const tail = centre ? [`rotation centre at pixel ${centre.x.toFixed(1)}, ${centre.y.toFixed(1)}; ${scale.toPrecision(3)}″ a pixel`] : [];
  return ['turned westward  identified  frame', ...lines, ...tail].join('\n');
}

/** What the sigma covers and what no frame can show. */
function sources(measurement: AxisResult): string {
  const air = measurement.aim === 'true' ? 'air' : 'air (hardly matters for this pole)';
  return wrap(`The error counts stars, catalogue, ${air}. It can't see a camera that sags against the mount as it turns. A camera not parallel to the axis does no harm.`, 60);
}

/** The end of a long path, which tells more than its beginning. */
function shortName(file: string, most: number): string {
  return file.length <= most ? file : `…${file.slice(1 - most)}`;
}
