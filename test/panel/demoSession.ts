/** A night like the demo's, carried on: rendered as demo/make.mjs renders its own. Invented, as the demo is. */
import { copyFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { type SimulateRequest, simulation, simulationPlan } from '../../src/tasks/simulate/simulation.js';
import { scratchFolder } from '../cli/poleward.js';

/** Seconds from frame to frame. */
const INTERVAL = 52;

export interface DemoStep {
  readonly file: string;
  /** The axis from the refracted pole, arcminutes, as it was when the frame was taken. */
  readonly altitude: number;
  readonly azimuth: number;
}

/** Beside the frames so that the dials have turns to show: azimuth 60′ a turn clockwise east, altitude 43′ clockwise up. */
export const DEMO_RIG = {
  schema: 'poleward/rig-1', name: 'demo rig',
  knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { arcminPerTurn: 43, clockwise: 'raise' } },
};

/** The demo's own place, degrees east. */
const LONGITUDE = 8.55;

/** Three rotated frames from a time on, one after the azimuth knob was turned, one after the altitude knob was. */
export function demoSteps(time: Date, longitudeDeg = LONGITUDE): DemoStep[] {
  return [
    ...rendered({ time, longitudeDeg, rotations: TURNS.slice(0, 3) }), stepAt(time, longitudeDeg, 3, -13.6, 4.3),
    stepAt(time, longitudeDeg, 4, -0.6, 0.3),
  ];
}

/** The night's next looks: the mount turned back to where its second frame was and the axis moved meanwhile; then the mount turned only. */
export function slippedSteps(time: Date, longitudeDeg = LONGITUDE): [DemoStep, DemoStep] {
  return [stepAt(time, longitudeDeg, 5, -3.6, 14.3), stepAt(time, longitudeDeg, 6, -3.6, 14.3)];
}

/** Degrees east of where the Sun is lowest at a time: by day the watch would doubt the frames' clock. */
export function midnightLongitude(time: Date): number {
  return ((900 - 15 * (time.getTime() / 3_600_000 % 24)) % 360) - 180;
}

/** Puts a step's frame into a watched folder. */
export function save(step: DemoStep, folder: string, name: string): void {
  copyFileSync(step.file, join(folder, name));
}

export function demoFolder(): string {
  const folder = scratchFolder();
  writeFileSync(join(folder, 'poleward.json'), JSON.stringify(DEMO_RIG));
  return folder;
}

interface Truth {
  readonly frames: readonly { readonly file: string }[];
  readonly axis: { readonly fromRefractedPole: { readonly altitudeArcmin: number; readonly azimuthArcmin: number } };
}

/** Where the mount stands at each look, degrees of right ascension. */
const TURNS = [0, -31, -64, -64, -64, -31, -64];

/** One frame of the night, with the axis where it is by then. */
function stepAt(time: Date, longitudeDeg: number, at: number, altitudeError: number, azimuthError: number): DemoStep {
  const then = new Date(time.getTime() + at * INTERVAL * 1000);
  return rendered({ longitudeDeg, time: then, altitudeError, azimuthError, rotations: [TURNS[at]!] })[0]!;
}

function rendered(
  change: {
    readonly rotations: number[]; readonly time: Date; readonly longitudeDeg: number; readonly altitudeError?: number;
    readonly azimuthError?: number;
  },
): DemoStep[] {
  const out = scratchFolder();
  // As demo/make.mjs has it.
  const request: SimulateRequest = {
    latitudeDeg: 47.31, longitudeDeg: change.longitudeDeg, elevationMetres: 640, pressureHectopascal: null, temperatureCelsius: null,
    start: change.time, focalLengthMillimetres: 200, apertureMillimetres: 50, pixelSizeMicrometres: 7.4,
    size: { width: 640, height: 480 }, exposureSeconds: 3, intervalSeconds: INTERVAL, altitudeErrorArcmin: change.altitudeError ?? -13.6,
    azimuthErrorArcmin: change.azimuthError ?? 24.3, rotationsDeg: change.rotations, tracking: true, target: null, frames: 1, guided: false,
    periodicErrorArcsec: 0, rateErrorArcsecPerMinute: 0, jitterArcsec: 0, mirrored: false, rollDeg: -77, pointingOffsetDeg: 0.24,
    fwhmPixels: 2.3,
    skyMagnitude: 19.8, cloud: 0, trees: 0, satellite: false, moon: false, seed: 'demo',
  };
  const steps = simulation(request, simulationPlan(request), embeddedCatalogue());
  let next = steps.next();
  for (; !next.done; next = steps.next()) writeFileSync(join(out, next.value.name), next.value.bytes);
  const truth: Truth = next.value;
  const { altitudeArcmin: altitude, azimuthArcmin: azimuth } = truth.axis.fromRefractedPole;
  return truth.frames.map(({ file }) => ({ file: join(out, file), altitude, azimuth }));
}
