import { aimedError } from '../../axis/aim.js';
import { ARCMINUTE, ARCSECOND, DEGREE, wrapSigned } from '../../geometry/angle.js';
import { elongation } from '../../run/trailLimit.js';
import { type PlannedBudget, pixels } from './budgetPlan.js';
import { signed, wrap } from '../words/numberWords.js';

const WIDTH = 60;
/** Width of an ordinary star image, pixels: the elongation is given for it. */
const STAR = 3;
/** A better aim is mentioned only where it saves this share of the limit. */
const WORTH = 0.05;
/** Within this share both knobs matter equally. */
const ALIKE = 0.1;
/** The largest error that is tried as still allowed, arcminutes. */
const FARTHEST_ARCMIN = 599;

/**
 * The budget for a person: the verdict, what is allowed, then why. At most 60 columns.
 *
 * @param full also the trails of the other way to guide, the stars' shape and the optics
 */
export function budgetText(planned: PlannedBudget, full = true): string {
  return [verdict(planned), `${effects(planned, full)}\n${knobs(planned)}`, aim(planned), basis(planned, full)].join('\n\n');
}

function verdict({ budget, guiding, limitPixels, aim, plan }: PlannedBudget): string {
  const sigma = budget.sigma !== null && budget.sigma >= 0.005 ? ` ± ${pixels(budget.sigma)}` : '';
  const where = guiding ? 'guided, at the worst corner' : 'unguided, mid-field';
  const line = `${budget.withinLimit ? 'within' : 'OUTSIDE'} the limit: trail ${pixels(budget.trail)}${sigma} px, limit ${limitPixels} px`;
  const { separation } = aimedError({ ...budget, aim });
  return [
    line,
    `  ${where}, worst exposure of ${plan.exposureSeconds} s`,
    wrap(`${allowedWords(budget.allowed / ARCMINUTE)}${thisWay(budget, separation)}; you are off by ${arcmin(separation)}`, WIDTH, '  '),
  ].join('\n');
}

/** What the direction of the error itself allows, where that is clearly more than any direction does, or decides. */
function thisWay({ allowed, allowedThisWay, withinLimit }: PlannedBudget['budget'], separation: number): string {
  const decides = withinLimit && separation > allowed;
  if (allowedThisWay === null || (allowedThisWay <= 1.15 * allowed && !decides)) return '';
  return `, ${allowedThisWay / ARCMINUTE > FARTHEST_ARCMIN ? '10° and more' : arcmin(allowedThisWay)} in the direction of your error`;
}

function allowedWords(allowedArcmin: number): string {
  if (allowedArcmin === 0) return 'no axis error is allowed, the air alone is too much';
  if (allowedArcmin > FARTHEST_ARCMIN) return 'any axis error up to 10° is allowed';
  return `allowed: ${arcmin(allowedArcmin * ARCMINUTE)} off the pole in any direction`;
}

function effects(planned: PlannedBudget, full: boolean): string {
  const { budget, plan, exposures, guiding } = planned;
  const { unguided } = budget;
  const arcsec = (angle: number): string => signed((angle / ARCSECOND).toFixed(1));
  const scale = plan.pixel / ARCSECOND;
  const lines = [
    `${exposures} exposure${exposures === 1 ? '' : 's'} of ${plan.exposureSeconds} s in ${hoursText(plan.hours)}; ${scale.toPrecision(3)}″ `
      + 'a pixel',
  ];
  // The verdict has the trail of the way that is planned.
  if (full || !guiding) lines.push(
    `unguided  ${full ? `${pixels(unguided.pixels)} px (${(unguided.drift / ARCSECOND).toFixed(1)}″) an exposure at most,`
      : `${(unguided.drift / ARCSECOND).toFixed(1)}″ in the worst exposure,`}`,
    `          ${hoursText(unguided.atHours)} after the start: declination`,
    `          ${arcsec(unguided.declination)}″, right ascension ${arcsec(unguided.rightAscension)}″`,
    `          ${pixels(unguided.totalPixels)} px over the run`,
  );
  if (full || guiding) lines.push(...guidedLines(planned, full));
  if (full) lines.push(wrap(`a star ${STAR} px wide becomes ${percent(elongation(budget.trail, STAR) - 1)} longer than wide`, WIDTH, '  '));
  return lines.join('\n');
}

function guidedLines({ budget: { guided }, sensor }: PlannedBudget, full: boolean): string[] {
  const turned = guided.fieldRotation / DEGREE;
  const sense = Math.abs(turned) < 5e-4 ? '' : turned > 0 ? ' counter-clockwise' : ' clockwise';
  const there = guided.fieldRotationSpan > 1.05 * Math.abs(guided.fieldRotation) + 1e-5;
  const lines = [`guided    field turns ${(guided.fieldRotationSpan / DEGREE).toFixed(3)}°${there ? ' out and back' : sense}`];
  if (there) lines.push(`          (${Math.abs(turned).toFixed(3)}°${sense} by the end)`);
  if (sensor) {
    lines.push(...full ? [
      `          ${pixels(guided.cornerPixels)} px an exposure at most in the corner`,
      `          farthest from the guide star, ${pixels(guided.totalPixels)} over the run`,
    ] : [`          ${pixels(guided.totalPixels)} px over the run in the corner farthest`, '          from the guide star']);
  } else {
    lines.push('          (give the sensor\'s size for the trail in the corners)');
  }
  return lines;
}

function knobs({ budget }: PlannedBudget): string {
  const { altitude, azimuth } = budget.perArcminute;
  const more = Math.max(altitude, azimuth), less = Math.min(altitude, azimuth);
  const name = altitude > azimuth ? 'altitude' : 'azimuth';
  const sizes = `1′ of altitude makes ${small(altitude)} px, 1′ of the azimuth knob ${small(azimuth)} px`;
  const lead = less >= (1 - ALIKE) * more ? 'for this target both knobs matter alike' : `for this target the ${name} knob matters more`;
  return wrap(`${lead}: ${sizes}`, WIDTH, '  ');
}

function aim({ budget: { best }, limitPixels, plan }: PlannedBudget): string {
  if (plan.refraction.a === 0) return 'without air the true pole is the best aim';
  const trails = `trail there ${pixels(best.trail)} px, at the true pole ${pixels(best.trailAtTruePole)} px, at the refracted pole `
    + `${pixels(best.trailAtRefractedPole)} px`;
  const { altitude, azimuth } = best.fromTruePole;
  const up = `${arcmin(Math.abs(altitude))} ${altitude < 0 ? 'below' : 'above'} the true pole`;
  const beside = Math.abs(azimuth) >= 0.05 * ARCMINUTE
    ? `, azimuth ${arcmin(Math.abs(azimuth))} ${azimuth > 0 ? 'east' : 'west'} of it`
    : '';
  const fromRefracted = best.fromRefractedPole.altitude;
  const where = best.isBetween ? ', between the poles'
    : beside !== '' ? '; not between the poles: beside '
      + `them${best.fromRefractedPole.altitude > 0 ? ` and ${arcmin(fromRefracted)} above the refracted one` : ''}`
      : fromRefracted > 0
        ? `; not between the poles: ${arcmin(fromRefracted)} above the refracted one`
        : '; not between the poles: below the true one';
  const gain = Math.min(best.trailAtTruePole, best.trailAtRefractedPole) - best.trail;
  if (gain < WORTH * limitPixels) {
    const better = best.trailAtRefractedPole <= best.trailAtTruePole;
    const [good, other] = better ? ['refracted', 'true'] : ['true', 'refracted'];
    const [least, more] = [best.trailAtTruePole, best.trailAtRefractedPole].sort((x, y) => x - y) as [number, number];
    return wrap(`best aim for this run: the ${good} pole (trail there ${pixels(least)} px, at the ${other} pole `
      + `${pixels(more)} px)`, WIDTH, '  ');
  }
  return [
    wrap(`best aim for this run: ${up}${beside}${where}${best.atEdge ? ' (as far as was searched)' : ''}`, WIDTH, '  '),
    wrap(trails, WIDTH, '  '),
  ].join('\n');
}

function basis(p: PlannedBudget, full: boolean): string {
  const { plan, altitudes, error, aim: pole, site, focalLengthMillimetres: f, pixelSizeMicrometres: size, sensor } = p;
  const hourAngle = wrapSigned(plan.target.hourAngle) / DEGREE / 15;
  const knob = (angle: number): string => signed(`${(angle / ARCMINUTE).toFixed(2)}′`);
  const lat = site.latitudeDeg;
  const air = plan.refraction.a === 0
    ? 'no air'
    : `${site.pressureHectopascal.value.toFixed(0)} hPa, ${site.temperatureCelsius.value.toFixed(0)} °C (${site.pressureHectopascal.from})`;
  const optics =
    `${f.value} mm (${f.from}), ${size.value} µm `
      + `(${size.from})${sensor ? `, ${sensor.value.width}x${sensor.value.height} (${sensor.from})` : ''}`;
  const guide = p.guiding ? guideWords(plan.guideOffset / DEGREE) : null;
  return [
    `error altitude ${knob(error.value.altitude)}, azimuth ${knob(error.value.azimuth)} from the ${pole} pole (${error.from})`,
    `target declination ${signed((plan.target.declination / DEGREE).toFixed(2))}°, hour angle ${signed(hourAngle.toFixed(2))} h at the `
      + `start, ${(altitudes[0] / DEGREE).toFixed(0)}° to ${(altitudes[1] / DEGREE).toFixed(0)}° high`,
    ...(full ? [optics] : []), ...(guide === null ? [] : [guide]),
    `latitude ${Math.abs(lat.value).toFixed(2)}° ${lat.value < 0 ? 'S' : 'N'} (${lat.from}); ${air}`,
    'Axis error and air are included; gear, flexure and wind are not.',
  ].map((line) => wrap(line, WIDTH, '  ')).join('\n');
}

function guideWords(offsetDeg: number): string {
  if (offsetDeg < 0.005) return 'guide star in mid-field';
  return `guide star ${offsetDeg.toFixed(2)}° from mid-field, away from the corner`;
}

function arcmin(angle: number): string {
  const value = angle / ARCMINUTE;
  return `${value.toFixed(value >= 10 ? 1 : 2)}′`;
}

/** Two digits, and none below rounding. */
function small(value: number): string {
  return value < 5e-4 ? '0.00' : value >= 100 ? value.toFixed(0) : value.toPrecision(2);
}

function hoursText(hours: number): string {
  return `${Number(hours.toFixed(2))} h`;
}

function percent(share: number): string {
  return `${(100 * share).toFixed(share < 0.1 ? 1 : 0)}%`;
}
