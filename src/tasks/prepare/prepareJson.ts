import { ARCMINUTE, ARCSECOND, DEGREE } from '../../geometry/angle.js';
import { NIGHT_CAUTIONS, settingUp } from '../../run/prepareSteps.js';
import type { Turning } from '../../run/prepareRotation.js';
import type { Dark } from '../../sky/darkness.js';
import { MAGNETIC_MODEL } from '../../sky/magneticNorth.js';
import { phaseName } from '../../sky/moon.js';
import type { RemedyWords } from '../../remedy.js';
import type { PreparationSheet } from './prepareSheet.js';

/** The sheet as `poleward/preparation-1`. Times are UTC. `missing` is worded by the front. */
export function preparationJson(sheet: PreparationSheet, words: RemedyWords): Record<string, unknown> {
  const { preparation: p, site, camera, utcOffsetMinutes, missing, warnings } = sheet;
  return {
    schema: 'poleward/preparation-1',
    site: {
      latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres,
      pressureHectopascal: site.pressureHectopascal, temperatureCelsius: site.temperatureCelsius,
    },
    night: { from: p.night.noon.toISOString(), to: p.night.nextNoon.toISOString(), utcOffsetMinutes },
    hemisphere: p.hemisphere === 1 ? 'north' : 'south',
    latitudeScaleDeg: fixed(p.scale / DEGREE, 4),
    refractionArcmin: fixed(p.lift / ARCMINUTE, 2),
    compass: {
      bearingDeg: fixed(p.bearing / DEGREE, 2), declinationDeg: fixed(p.magnetic.declination / DEGREE, 2),
      sigmaDeg: fixed(p.magnetic.sigma / DEGREE, 2),
      horizontalNanotesla: Math.round(p.magnetic.horizontalNanotesla), use: p.magnetic.use,
      model: MAGNETIC_MODEL.name, modelFrom: MAGNETIC_MODEL.from.toISOString(), modelUntil: MAGNETIC_MODEL.until.toISOString(),
      inForce: p.magnetic.inForce,
    },
    poleStar: {
      name: p.star.name,
      places: p.starPlaces.map(({ time, place }) => ({
        utc: time.toISOString(), hourAngleHours: fixed(place.hourAngle / (15 * DEGREE), 4),
        distanceArcmin: fixed(place.distance / ARCMINUTE, 3),
        uprightClock: fixed(place.upright, 3), invertingClock: fixed(place.inverting, 3),
      })),
    },
    darkness: {
      sunDown: dark(p.dark.sunDown), nautical: dark(p.dark.nautical), astronomical: dark(p.dark.astronomical),
      middle: p.dark.middle.toISOString(), lowestSunDeg: fixed(p.dark.lowestSun / DEGREE, 2),
      nextDarkNight: p.nextDark?.toISOString() ?? null,
    },
    moon: {
      phase: phaseName(p.moon.elongation), litShare: fixed(p.moon.lit, 3), elongationDeg: fixed(p.moon.elongation / DEGREE, 1),
      fromPoleDeg: fixed(p.moon.fromPole / DEGREE, 1), altitudeDeg: fixed(p.moon.altitude / DEGREE, 1),
      up: p.moonUp.map(({ from, to }) => ({ from: from?.toISOString() ?? null, to: to?.toISOString() ?? null })),
    },
    camera, missing: missing.map(words),
    field: p.field,
    exposure: p.exposure && {
      seconds: p.exposure.exposureSeconds, suggested: !sheet.exposureGiven, faintestMagnitude: fixed(p.exposure.faintestMagnitude, 2),
      catalogueStars: fixed(p.exposure.stars, 1), trailPixelsWithoutDrive: fixed(p.exposure.trailPixels, 2),
    },
    rotation: p.rotation && {
      precisionArcsec: fixed(p.precision / ARCSECOND, 2), reached: p.rotation.reached, advised: turning(p.rotation.advised),
      least: p.rotation.least.map(({ frames, turning: t }) => ({ frames, turnDeg: t && fixed(t.turn / DEGREE, 1) })),
    },
    payload: p.payload,
    settingUp: settingUp(p.hemisphere),
    cautions: NIGHT_CAUTIONS,
    warnings,
  };
}

function turning(t: Turning | null): Record<string, number> | null {
  return t && {
    frames: t.frames, turnDeg: fixed(t.turn / DEGREE, 1), stars: t.stars,
    upSigmaArcsec: fixed(t.precision.up / ARCSECOND, 2), eastSigmaArcsec: fixed(t.precision.east / ARCSECOND, 2),
  };
}

function dark(d: Dark): Record<string, string> {
  return d.kind === 'from-to' ? { kind: d.kind, from: d.from.toISOString(), to: d.to.toISOString() } : { kind: d.kind };
}

function fixed(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}
