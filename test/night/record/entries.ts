import {
  type LaterEntry, type LookEntry, type MeasurementRecord, OLD_SCHEMA, type OldMeasurement, type SessionEntry, type StartEntry,
  type TurnEntry, startEntry,
} from '../../../src/night/record/entry.js';
import type { Session } from '../../../src/night/record/session.js';
import { FIRST, type InventedLook } from '../inventedLooks.js';

/** Invented sessions for the tests: site, errors and times are made up. */
export const EVENING = '2026-11-25T20:00:00.000Z';
export const SITE = { latitudeDeg: 46.5, longitudeDeg: 11.2, elevationMetres: 1200 };

/** `minutes` after the evening's beginning, ISO UTC. */
export function after(minutes: number): string {
  return new Date(Date.parse(EVENING) + minutes * 60_000).toISOString();
}

export function start(): StartEntry {
  return startEntry(new Date(EVENING), '0.1.0', SITE, 1);
}

/** The same of a session of version 1. */
export function oldStart(): StartEntry {
  return { ...start(), schema: OLD_SCHEMA };
}

export function note(text: string, minutes = 0): LaterEntry {
  return { kind: 'note', at: after(minutes), text };
}

export function turn(
  knob: 'azimuth' | 'altitude', turns: number, minutes: number, expectedArcmin: number | null, followed = false,
): TurnEntry {
  return { kind: 'turn', at: after(minutes), knob, turns, followed, expectedArcmin };
}

interface Invented {
  readonly minutes: number;
  readonly altitude: number;
  readonly azimuth: number;
  /** One sigma of both, arcminutes. */
  readonly sigma: number;
  readonly frames: number;
}

function record({ minutes, altitude, azimuth, sigma, frames }: Invented): MeasurementRecord {
  const error = (up: number) => ({
    altitudeArcmin: up, azimuthArcmin: azimuth, separationArcmin: Math.hypot(up, azimuth * Math.cos((46.5 * Math.PI) / 180)),
  });
  return {
    schema: 'poleward/measurement-1',
    axis: {
      altitudeDeg: 46.5 + (altitude + 0.9) / 60, azimuthDeg: (360 + azimuth / 60) % 360,
      fromTruePole: error(altitude + 0.9), fromRefractedPole: error(altitude),
      sigma: { altitudeArcmin: sigma, azimuthArcmin: sigma, separationArcmin: sigma }, aim: 'refracted',
    },
    frames: Array.from({ length: frames }, (_, i) => ({ file: `frame ${i + 1}.fits`, used: true, utc: after(minutes - frames + 1 + i) })),
    knobs: [], warnings: [],
  };
}

const state = (minutes: number): OldMeasurement['state'] => ({
  utc: after(minutes), axis: [0, 0.6, 0.8], pose: [1, 0, 0, 0, 1, 0, 0, 0, 1],
  lens: { focalPixels: 11000, centreX: 1999.5, centreY: 1499.5, radial: [0.01], mirrored: false },
  width: 4000, height: 3000, covariance: [1e-12, 0, 0, 1e-12], hemisphere: 1, aim: 'refracted',
});

/** A measurement of a session of version 1, from frames turned against each other. */
export function rotation(minutes: number, altitude: number, azimuth: number, sigma = 0.01, frames = 3): OldMeasurement {
  return {
    kind: 'measurement', at: after(minutes), how: 'rotation', measurement: record({ minutes, altitude, azimuth, sigma, frames }),
    state: state(minutes),
  };
}

/** Likewise, from one frame more. */
export function recheck(minutes: number, altitude: number, azimuth: number, sigma = 0.02): OldMeasurement {
  return {
    kind: 'measurement', at: after(minutes), how: 'recheck', measurement: record({ minutes, altitude, azimuth, sigma, frames: 1 }),
    state: state(0),
  };
}

/** An invented look as a session keeps it. */
export function lookEntry({ look }: InventedLook): LookEntry {
  return { kind: 'look', at: look.utc, look, frame: look.file };
}

/** Of the site of the invented looks in the north. */
export const LOOKS_SITE = { latitudeDeg: 47.3, longitudeDeg: 9.1, elevationMetres: 400, pressureHectopascal: 965, temperatureCelsius: 5 };
export const LOOKS_SITE_SOUTH = {
  latitudeDeg: -34.1, longitudeDeg: 18.4, elevationMetres: 300, pressureHectopascal: 978, temperatureCelsius: 12,
};

/** The session that these entries make, one after the other. */
export function sessionOf(begun: StartEntry, ...entries: readonly LaterEntry[]): Session {
  return {
    path: '/frames/poleward-session.jsonl', start: begun, warnings: [],
    recorded: [begun, ...entries].map((entry: SessionEntry, i) => ({ line: i + 1, entry })),
  };
}

/** A session of invented looks begins. */
export function looksStart(site: StartEntry['site'] = LOOKS_SITE): StartEntry {
  return startEntry(new Date(FIRST), '0.1.0', site, site && site.latitudeDeg < 0 ? -1 : 1);
}
