import { aimedError } from '../../axis/aim.js';
import { horizontal } from '../../axis/axisError.js';
import { DEGREE } from '../../geometry/angle.js';
import { angleWords, decimals, plusMinus } from '../../geometry/angleWords.js';
import type { Region, RegionShape } from '../../run/fieldShape.js';
import { constellationOf } from '../../sky/constellation.js';
import { signed, wrap } from '../words/numberWords.js';
import { siteText } from '../words/siteText.js';
import { timeText } from '../words/timeText.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import { KNOWN, bestKnownWords } from './bestKnown.js';
import { onSky, skyScatter } from './onSky.js';
import { ownErrorsExplain } from './ownErrors.js';
import type { ShapedFrame } from './shapedFrame.js';
import type { Verified } from './verifyFrames.js';
import { missingWords } from './verifyJson.js';

/**
 * A tracked run for a person: first the verdict, then drift and stars, the axis, what was assumed. At most 60 columns.
 *
 * @param full also the causes of the drift, the stars' shape by regions, each frame, the field
 */
export function verificationText(v: Verified, words: RemedyWords, full = true): string {
  const tables = full ? [partsText(v), shapeText(v), axisText(v, words), unknownText(v, words), framesText(v), targetText(v)]
    : [axisText(v, words), unknownText(v, words)];
  const parts = [
    wrap(v.verdict.line, 60, '  '), full ? driftText(v, true) : `${driftText(v, false)}\n${widthText(v)}`, ...tables,
    [timeText(usedFrames(v), 60), v.site ? siteText(v.site, 60, full) : ''].filter((line) => line !== '').join('\n'),
  ];
  return parts.filter((part) => part !== '').join('\n\n');
}

function usedFrames({ drift, frames }: Verified): ShapedFrame[] {
  return drift.frames.map((i) => frames[i]!);
}

function number(value: number, sigma: number, most: number): string {
  return value.toFixed(decimals(sigma, most));
}

function driftText(v: Verified, full: boolean): string {
  const { drift, orientation, arcsecPerPixel: scale } = v;
  const seconds = v.exposureSeconds?.value ?? null;
  const { x, y, rotation } = drift;
  const lines: string[] = [];
  const size = Math.hypot(x.rate, y.rate);
  const sigma = size > 0 ? Math.hypot(x.rate * x.rateSigma, y.rate * y.rateSigma) / size : x.rateSigma;
  const exposure = (pixels: number, error: number): string =>
    (seconds === null
      ? ''
      : `${number(pixels * seconds, error * seconds, 2)} ± ${(error * seconds).toPrecision(1)} px in ${Number(seconds.toPrecision(3))} s`);
  if (scale) {
    const perMinute = 60 * scale.value;
    lines.push(
      `drift ${number(size * perMinute, sigma * perMinute, 2)} ± ${(sigma * perMinute).toPrecision(1)}″ a `
        + `minute${seconds === null ? '' : `, ${exposure(size, sigma)}`}`,
    );
    if (orientation) {
      const { north, east } = onSky(orientation, x.rate, y.rate);
      const error = Math.hypot(x.rateSigma, y.rateSigma) / Math.SQRT2 * perMinute;
      const ways = [way(north * perMinute, error, 'north', 'south'), way(east * perMinute, error, 'east', 'west')]
        .filter((w) => w !== null);
      lines.push(wrap(ways.length === 0 ? 'which way is not known' : `stars go ${ways.join(' and ')} a minute`, 60, '  '));
    }
  } else {
    lines.push(
      `drift ${number(size * 60, sigma * 60, 3)} ± ${(sigma * 60).toPrecision(1)} px a `
        + `minute${seconds === null ? '' : `, ${exposure(size, sigma)}`}`,
    );
  }
  const turn = (rotation.rate * 3600) / DEGREE, turnSigma = (rotation.rateSigma * 3600) / DEGREE;
  lines.push(
    `field turns ${number(Math.abs(turn), turnSigma, 4)} ± ${turnSigma.toPrecision(1)}° an `
      + `hour${v.cornerPixels === null ? '' : `, ${v.cornerPixels.toFixed(2)} px at a corner`}`,
  );
  const scatter = orientation && skyScatter(drift, orientation);
  // Without a cause that shows, scatter is only a figure.
  const told = scatter ? Math.max(scatter.rightAscension, scatter.declination) > 2 * Math.min(scatter.rightAscension, scatter.declination)
    && !ownErrorsExplain(v) : false;
  if (drift.x.freedom > 0 && (full || told)) {
    const text = (pixels: number): string => (scale ? `${(pixels * scale.value).toFixed(2)}″` : `${pixels.toFixed(2)} px`);
    lines.push(wrap(scatter
      ? `scatter about the drift ${text(scatter.rightAscension)} in right ascension, ${text(scatter.declination)} in `
        + `declination${gear(scatter, v)}`
      : `scatter about the drift ${text(Math.hypot(drift.x.scatter, drift.y.scatter))}`, 60, '  '));
  }
  if (drift.steps > 0) lines.push(wrap(
    `moved ${drift.steps === 1 ? 'once' : `${drift.steps} times`} between frames, by up to ${drift.largestStep.toFixed(0)} px: not counted `
      + 'as drift',
    60, '  ',
  ));
  return lines.join('\n');
}

/** "north 0.31″"; null where the sign is not known. */
function way(value: number, sigma: number, plus: string, minus: string): string | null {
  return Math.abs(value) < KNOWN * sigma ? null : `${value >= 0 ? plus : minus} ${number(Math.abs(value), sigma, 2)}″`;
}

/** The gear's error shows in right ascension only, wind and air in both. */
function gear({ rightAscension: ra, declination: dec }: { rightAscension: number; declination: number }, v: Verified): string {
  if (v.drift.x.freedom < 4) return '';
  if (ownErrorsExplain(v)) return ': no more than the stars\' own errors explain';
  if (ra > 2 * dec) return `: more in right ascension, as a gear's periodic error does`;
  return dec > 2 * ra ? ': more in declination, which no gear error does; look for slack or wind' : ': alike, as air and wind do';
}

function partsText(v: Verified): string {
  const { parts, arcsecPerPixel: scale, orientation, drift, guiding } = v;
  if (!parts || !scale || !orientation) return '';
  const perMinute = 60 * scale.value;
  const row = (name: string, m: { x: number; y: number; rotation: number }): string => {
    const { north, east } = onSky(orientation, m.x, m.y);
    const cell = (value: number): string => signed((value * perMinute).toFixed(2)).padStart(9);
    return `  ${name.padEnd(17)}${cell(north)}${cell(east)}${signed(((m.rotation * 3600) / DEGREE).toFixed(3)).padStart(11)}`;
  };
  const whose = parts.axisFrom === 'session'
    ? 'by the axis error that the session measured'
    : 'if the axis error is what these frames imply';
  const rest = guiding === 'guided'
    ? 'The guider removes what drift it can; the rotation that is left is the camera\'s own.'
    : `What is left north-south comes from a sagging tube or mirror, or from air; east-west from the drive's rate`
      + `${ownErrorsExplain(v) ? '' : ' or its gear'}.`;
  return [
    wrap(`causes, ${whose}:`, 60, '  '), `  ${''.padEnd(17)}${'″/min N'.padStart(9)}${'E'.padStart(9)}${'°/h'.padStart(11)}`,
    row('measured', { x: drift.x.rate, y: drift.y.rate, rotation: drift.rotation.rate }), row('axis error', parts.axis),
    row('refraction', parts.air), row('neither', parts.rest),
    wrap(rest, 60, '  '),
  ].join('\n');
}

const REGION_WORDS: Readonly<Record<Region, string>> = {
  centre: 'middle', topLeft: 'first rows, left', topRight: 'first rows, right', bottomLeft: 'last rows, left',
  bottomRight: 'last rows, right',
};

/** Width and shape of the stars in one line. */
function widthText({ shape: { whole }, arcsecPerPixel: scale }: Pick<Verified, 'shape' | 'arcsecPerPixel'>): string {
  if (!whole) return 'too few clear stars to tell their shape';
  return wrap(
    `stars ${whole.fwhm.toFixed(2)} px wide${scale ? ` (${(whole.fwhm * scale.value).toFixed(1)}″)` : ''}, `
      + `${whole.elongation.toFixed(2)} times longer than wide`,
    60, '  ',
  );
}

function shapeText({ shape, trail, arcsecPerPixel: scale }: Verified): string {
  if (!shape.whole) return 'too few clear stars to tell their shape';
  const cells = (r: RegionShape): string =>
    `${r.fwhm.toFixed(2).padStart(6)}${r.elongation.toFixed(2).padStart(7)} ± `
      + `${r.elongationSigma.toFixed(2)}${(r.direction / DEGREE).toFixed(0).padStart(6)}°`;
  const rows = (Object.entries(shape.regions) as [Region, RegionShape | null][]).flatMap(
    ([name, r]) => (r ? [`  ${REGION_WORDS[name].padEnd(18)}${cells(r)}`] : []),
  );
  const lines = [
    widthText({ shape, arcsecPerPixel: scale }),
    `  ${''.padEnd(18)}${'width'.padStart(6)}${'longer'.padStart(8)}${'along'.padStart(10)}`, ...rows,
  ];
  if (trail && shape.whole.elongation - 2 * shape.whole.elongationSigma > 1.03) {
    lines.push(wrap(
      `drift in one exposure accounts for ${Math.round(100 * Math.max(0, Math.min(1, trail.share)))} % of it; wind, the gear's error `
        + `within an exposure and the optics can't be told apart in the rest`,
      60, '  ',
    ));
  }
  return lines.join('\n');
}

function axisText({ implied, comparison, guiding }: Verified, words: RemedyWords): string {
  if (!implied) return '';
  const { aim, sigma } = implied;
  const error = aimedError(implied);
  const knob = (value: number, s: number, plus: string, minus: string): string => (Math.abs(value) < KNOWN * s
    ? `off by at most ${angleWords(Math.abs(value) + KNOWN * s, s)}, which way is not known`
    : `${angleWords(Math.abs(value), s)} ${plusMinus(s)} too ${value > 0 ? plus : minus}`);
  const known = (s: number): boolean => s < 60 * 60 * (DEGREE / 3600);
  const lines = [`axis implied, from the ${aim} pole:`];
  lines.push(
    known(sigma.altitude) ? `  altitude ${knob(error.altitude, sigma.altitude, 'high', 'low')}` : '  altitude: these frames don\'t tell',
  );
  lines.push(
    known(sigma.azimuth)
      ? `  azimuth ${knob(error.azimuth, sigma.azimuth, 'far east', 'far west')}`
      : '  azimuth: these frames don\'t tell',
  );
  const [best, worst] = implied.combinations;
  if (worst.sigma > 3 * best.sigma) {
    const sentence = bestKnownWords(best, Math.cos(horizontal(implied.axis).altitude));
    lines.push(wrap(`${sentence} A field elsewhere in the sky or a longer run shows the rest.`, 60, '  '));
  }
  if (guiding === 'unknown') lines.push(wrap(
    withRemedies(
      'From field rotation alone. If only the drive moved the mount, say so: then the drift is used too.', ['say-unguided'], words,
    ),
    60, '  ',
  ));
  if (guiding === 'guided') lines.push(wrap(
    'From field rotation alone: a guider removes the drift. A camera that turns in its holder looks the same.', 60, '  ',
  ));
  if (guiding === 'unguided') lines.push(wrap(
    'A tube that sags by 0.1″ a minute looks like 0.4′ of axis error; the uncertainty does not include that.', 60, '  ',
  ));
  if (comparison) {
    const worstOff = Math.max(Math.abs(comparison.altitude), Math.abs(comparison.azimuth), Math.abs(comparison.best));
    lines.push(wrap(
      `the session's (${comparison.session.at.slice(0, 16).replace('T', ' ')} UTC) `
        + `${worstOff < 2.5 ? 'agrees' : worstOff < 4 ? 'hardly agrees' : 'does not agree'}: off by `
        + `${Math.abs(comparison.altitude).toFixed(1)} sigma in altitude, ${Math.abs(comparison.azimuth).toFixed(1)} in azimuth, `
        + `${Math.abs(comparison.best).toFixed(1)} in the combination known best`,
      60, '  ',
    ));
  }
  return lines.join('\n');
}

function unknownText({ missing, implied, orientation, drift }: Verified, words: RemedyWords): string {
  if (implied || missing.length === 0) return '';
  const turn = Math.abs(drift.rotation.rate) / 7.292e-5;
  const least = !orientation && turn > 0
    ? ` Whatever way is north, the turning of the field alone asks for an axis off by about ${((turn / DEGREE) * 60).toPrecision(2)}′ `
      + 'times the cosine of the declination, unless the drive is uneven far from the equator.' : '';
  return wrap(`The axis error these frames imply needs ${missing.map((m) => missingWords(m, words)).join(', ')}.${least}`, 60, '  ');
}

/** Where the field is, for a check by eye, and the source. */
function targetText({ target }: Verified): string {
  if (!target) return '';
  const { value, declinationDeg, hourAngleHours, from } = target;
  const hour = hourAngleHours === null ? '' : `, hour angle ${signed(hourAngleHours.toFixed(1))} h`;
  return wrap(`field in ${constellationOf(value)}, declination ${signed(declinationDeg.toFixed(1))}°${hour} (${from})`, 60, '  ');
}

function framesText({ frames, field, drift }: Verified): string {
  const start = frames[drift.frames[0]!]!.metadata.midExposure!.value.getTime();
  const rows = drift.frames.map((i) => {
    const f = frames[i]!, on = field.frames[i]!;
    const minutes = (f.metadata.midExposure!.value.getTime() - start) / 60_000;
    const name = f.file.length <= 20 ? f.file : `…${f.file.slice(-19)}`;
    const shift = [on.fit.shiftX, on.fit.shiftY].map((pixels) => signed(pixels.toFixed(1)).padStart(9)).join('');
    return `${minutes.toFixed(1).padStart(7)}${String(on.star.length).padStart(6)}${shift}  ${name}`;
  });
  return [`${'minutes'.padStart(7)}${'stars'.padStart(6)}${'x'.padStart(9)}${'y px'.padStart(9)}  frame`, ...rows].join('\n');
}
