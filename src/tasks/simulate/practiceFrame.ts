import { DEGREE } from '../../geometry/angle.js';
import { fitsFile, frameCards } from '../../simulate/fitsFile.js';
import { planNight, renderFrame } from '../../simulate/night.js';
import { type NightPlan, ordinaryNight } from '../../simulate/nightPlan.js';
import type { PracticeMount } from '../../simulate/practiceMount.js';
import type { Catalogue } from '../../sky/catalogue.js';
import { SIDEREAL_RATE } from '../../sky/siderealRate.js';
import { makeSite } from '../../sky/site.js';
import type { SimulatedFile } from './simulation.js';

/** Place and time of the practice. */
export interface PracticePlace {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationMetres: number | null;
  /** When practice began; the mount has tracked since. */
  readonly begun: Date;
}

/** When the Sun is lowest next, mean solar time: whoever practises by daylight does it as if it were night. */
export function nextMidnight(longitudeDeg: number, now: Date): Date {
  const day = 86_400_000;
  const ahead = (longitudeDeg / 360) * day;
  return new Date(Math.ceil((now.getTime() + ahead) / day) * day - ahead);
}

/** The next frame that a virtual mount's camera saves at a moment, as a FITS file. */
export function practiceFrame(mount: PracticeMount, place: PracticePlace, at: Date, catalogue: Catalogue): SimulatedFile {
  const site = makeSite({ ...place, pressureHectopascal: null, temperatureCelsius: null });
  const tracked = SIDEREAL_RATE * (at.getTime() - place.begun.getTime()) / 1000 / DEGREE;
  const ordinary = ordinaryNight(site, at);
  // One seed for the whole night, so that the stars stay; each frame has its own noise.
  const plan: NightPlan = {
    ...ordinary, startUtc: new Date(at.getTime() - 1000 * mount.frames * ordinary.intervalSeconds), seed: mount.seed, tracking: false,
    altitudeErrorArcmin: mount.altitudeArcmin, azimuthErrorArcmin: mount.azimuthArcmin,
    rotationsDeg: Array.from({ length: mount.frames + 1 }, () => mount.turnedDeg + tracked),
  };
  const { image, truth } = renderFrame(planNight(plan, catalogue), mount.frames);
  return { name: `practice-${mount.frames + 1}.fits`, bytes: fitsFile(image, frameCards(plan, truth.startUtc)) };
}

/** The hidden truth, for the end of the practice. */
export function practiceTruth({ altitudeArcmin: up, azimuthArcmin: east, knobs }: PracticeMount): string[] {
  const size = (value: number): string => Math.abs(value).toFixed(1);
  return [
    `The axis is ${size(up)}′ too ${up < 0 ? 'low' : 'high'} and ${size(east)}′ too far ${east < 0 ? 'west' : 'east'}, from the true pole.`,
    ...(['azimuth', 'altitude'] as const).map((name) => {
      const { travel, play, tilt } = knobs[name];
      const way = name === 'azimuth' ? (travel < 0 ? 'west' : 'east') : (travel < 0 ? 'down' : 'up');
      return `A turn clockwise of ${name} moves the axis ${size(travel)}′ ${way}; its play is ${play.toFixed(2)} turns; `
        + `${Math.abs(100 * tilt).toFixed(0)} % of the move goes into ${name === 'azimuth' ? 'altitude' : 'azimuth'}.`;
    }),
  ];
}
