import { ARCMINUTE, ARCSECOND, DEGREE } from '../../geometry/angle.js';
import type { RegionShape } from '../../run/fieldShape.js';
import type { Motion } from '../../run/fieldDrift.js';
import { rounded } from '../measure/measurementJson.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import { constellationOf } from '../../sky/constellation.js';
import { onSky, skyScatter } from './onSky.js';
import type { Missing, Verified } from './verifyFrames.js';

/**
 * `poleward/verification-1`. Drift is that of the stars in the picture; pixels run along the stored rows and down them. Rotation is from x
 * toward y, and so are directions of shapes. North and east are given only where the orientation is known.
 */
export function verificationJson(v: Verified, words: RemedyWords): Record<string, unknown> {
  const { drift, arcsecPerPixel: scale, orientation, implied, comparison, parts } = v;
  const seconds = v.exposureSeconds?.value ?? null;
  const perMinute = (pixels: number): number | null => scale && rounded(pixels * 60 * scale.value, 4);
  const motion = (m: Motion): Record<string, unknown> => ({
    xPixelsPerMinute: rounded(m.x * 60, 5), yPixelsPerMinute: rounded(m.y * 60, 5),
    rotationDegPerHour: rounded((m.rotation * 3600) / DEGREE, 6),
    ...(orientation && scale
      ? {
        northArcsecPerMinute: perMinute(onSky(orientation, m.x, m.y).north),
        eastArcsecPerMinute: perMinute(onSky(orientation, m.x, m.y).east),
      }
      : {}),
  });
  const size = Math.hypot(drift.x.rate, drift.y.rate);
  const sizeSigma = size > 0 ? Math.hypot(drift.x.rate * drift.x.rateSigma, drift.y.rate * drift.y.rateSigma) / size : drift.x.rateSigma;
  const scatter = orientation && skyScatter(drift, orientation);
  const arcmin = (angle: number): number => rounded(angle / ARCMINUTE, 4);
  return {
    schema: 'poleward/verification-1',
    verdict: v.verdict,
    limitPixels: v.limitPixels,
    exposureSeconds: v.exposureSeconds,
    arcsecPerPixel: scale && { value: rounded(scale.value, 5), from: scale.from },
    guiding: v.guiding,
    spanSeconds: rounded(drift.seconds.at(-1)!, 3),
    drift: {
      ...motion({ x: drift.x.rate, y: drift.y.rate, rotation: drift.rotation.rate }),
      arcsecPerMinute: perMinute(size), arcsecPerMinuteSigma: perMinute(sizeSigma),
      pixelsPerExposure: v.driftPixels === null ? null : rounded(v.driftPixels, 4),
      pixelsPerExposureSigma: seconds === null ? null : rounded(sizeSigma * seconds, 4),
      rotationSigmaDegPerHour: rounded((drift.rotation.rateSigma * 3600) / DEGREE, 6),
      cornerPixelsPerExposure: v.cornerPixels === null ? null : rounded(v.cornerPixels, 4),
      scatterPixels: { x: rounded(drift.x.scatter, 4), y: rounded(drift.y.scatter, 4) },
      scatterArcsec: scatter && scale
        && { rightAscension: rounded(scatter.rightAscension * scale.value, 3), declination: rounded(scatter.declination * scale.value, 3) },
      steps: drift.steps, largestStepPixels: rounded(drift.largestStep, 2),
    },
    parts: parts && { axisFrom: parts.axisFrom, axis: motion(parts.axis), refraction: motion(parts.air), rest: motion(parts.rest) },
    shape: {
      whole: shapeJson(v.shape.whole),
      regions: Object.fromEntries(Object.entries(v.shape.regions).map(([name, r]) => [name, shapeJson(r)])),
      byDrift: v.trail && { elongation: rounded(v.trail.elongation, 4), share: rounded(v.trail.share, 3) },
    },
    target: v.target
      && {
        constellation: constellationOf(v.target.value),
        declinationDeg: rounded(v.target.declinationDeg, 4),
        hourAngleHours: v.target.hourAngleHours === null ? null : rounded(v.target.hourAngleHours, 4), from: v.target.from,
      },
    orientation: orientation
      && {
        rowPositionAngleDeg: rounded(((orientation.rowAngle / DEGREE) % 360 + 360) % 360, 3), mirroredAsStored: orientation.mirrored,
        from: orientation.from,
      },
    impliedAxis: implied && {
      fromTruePole: errorJson(implied.fromTruePole), fromRefractedPole: errorJson(implied.fromRefractedPole),
      sigma: errorJson(implied.sigma), aim: implied.aim,
      combinations: implied.combinations.map(
        (c) => ({ up: rounded(c.up, 4), east: rounded(c.east, 4), arcmin: arcmin(c.value), sigmaArcmin: arcmin(c.sigma) }),
      ),
    },
    missing: v.missing.map((m) => missingWords(m, words)),
    session: comparison && {
      measured: comparison.session.at, altitudeArcmin: arcmin(comparison.session.altitude),
      azimuthArcmin: arcmin(comparison.session.azimuth),
      inSigmas: {
        altitude: rounded(comparison.altitude, 2), azimuth: rounded(comparison.azimuth, 2), bestKnown: rounded(comparison.best, 2),
      },
    },
    frames: v.frames.map((f, i) => {
      const on = v.field.frames[i];
      return {
        file: f.file, used: on !== null, utc: f.metadata.midExposure!.value.toISOString(), detected: f.stars.length,
        shared: on?.star.length ?? 0,
        shiftPixels: on ? { x: rounded(on.fit.shiftX, 4), y: rounded(on.fit.shiftY, 4) } : null,
        rotationArcsec: on ? rounded(on.fit.rotation / ARCSECOND, 2) : null,
        sigma: on
          ? {
            xPixels: rounded(Math.sqrt(on.fit.covariance[0]!), 4), yPixels: rounded(Math.sqrt(on.fit.covariance[4]!), 4),
            rotationArcsec: rounded(Math.sqrt(on.fit.covariance[8]!) / ARCSECOND, 2),
          }
          : null,
        residualPixels: on ? rounded(on.fit.residual, 4) : null, shape: shapeJson(f.shape.whole),
        regions: Object.fromEntries(Object.entries(f.shape.regions).map(([name, r]) => [name, shapeJson(r)])),
      };
    }),
    warnings: v.warnings,
  };
}

/** "the scale (--focal-length, --pixel-size)" */
export function missingWords({ what, remedies }: Missing, words: RemedyWords): string {
  return withRemedies(what, remedies, words);
}

function errorJson(e: { altitude: number; azimuth: number; separation: number }): Record<string, number> {
  const arcmin = (angle: number): number => rounded(angle / ARCMINUTE, 4);
  return { altitudeArcmin: arcmin(e.altitude), azimuthArcmin: arcmin(e.azimuth), separationArcmin: arcmin(e.separation) };
}

function shapeJson(r: RegionShape | null): Record<string, number> | null {
  return r && {
    fwhmPixels: rounded(r.fwhm, 3), fwhmSigma: rounded(r.fwhmSigma, 3), elongation: rounded(r.elongation, 3),
    elongationSigma: rounded(r.elongationSigma, 3),
    directionDeg: rounded(r.direction / DEGREE, 1), stars: r.stars,
  };
}
