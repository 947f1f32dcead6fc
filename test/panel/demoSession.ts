/**
 * The demo's night carried on: its three rotated frames, then one after the azimuth knob was turned, one after the altitude knob
 * was, rendered as demo/make.mjs renders its own. Invented, as the demo is.
 */
import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { embeddedCatalogue } from '../../src/node/embeddedCatalogue.js';
import { type SimulateRequest, simulation, simulationPlan } from '../../src/tasks/simulate/simulation.js';
import { scratchFolder } from '../cli/poleward.js';

const demo = fileURLToPath(new URL('../../demo/', import.meta.url));

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

export function demoSteps(): DemoStep[] {
  const truth = JSON.parse(readFileSync(join(demo, 'truth.json'), 'utf8')) as Truth;
  const first = [1, 2, 3].map((n) => ({ file: join(demo, `frame-${n}.fits`), ...errorOf(truth) }));
  return [...first, adjusted(-13.6, 4.3, 3), adjusted(-0.6, 0.3, 4)];
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

function errorOf({ axis }: Truth): { altitude: number; azimuth: number } {
  return { altitude: axis.fromRefractedPole.altitudeArcmin, azimuth: axis.fromRefractedPole.azimuthArcmin };
}

/** One frame of the demo's night with the mount as it stood at its last, and the axis moved. */
function adjusted(altitudeError: number, azimuthError: number, at: number): DemoStep {
  return rendered({ altitudeError, azimuthError, rotations: [0, -31, -64, -64, -64].slice(0, at + 1) }).at(-1)!;
}

/** The mount turned back to where its second frame was, and the axis knocked while it turned. */
export function slippedStep(): DemoStep {
  return rendered({ altitudeError: -3.6, azimuthError: 14.3, rotations: [0, -31, -64, -31] }).at(-1)!;
}

/** Three frames like the demo's, taken at another time. */
export function stepsAt(time: Date): DemoStep[] {
  return rendered({ time, rotations: [0, -31, -64] });
}

function rendered(
  change: { readonly rotations: number[]; readonly time?: Date; readonly altitudeError?: number; readonly azimuthError?: number },
): DemoStep[] {
  const out = scratchFolder();
  // As demo/make.mjs has it.
  const request: SimulateRequest = {
    latitudeDeg: 47.31, longitudeDeg: 8.55, elevationMetres: 640, pressureHectopascal: null, temperatureCelsius: null,
    start: change.time ?? new Date('2026-10-09T19:42:10Z'), focalLengthMillimetres: 200, apertureMillimetres: 50, pixelSizeMicrometres: 7.4,
    size: { width: 640, height: 480 }, exposureSeconds: 3, intervalSeconds: 52, altitudeErrorArcmin: change.altitudeError ?? -13.6,
    azimuthErrorArcmin: change.azimuthError ?? 24.3, rotationsDeg: change.rotations, tracking: true, target: null, frames: 1, guided: false,
    periodicErrorArcsec: 0, rateErrorArcsecPerMinute: 0, jitterArcsec: 0, mirrored: false, rollDeg: -77, pointingOffsetDeg: 0.24,
    fwhmPixels: 2.3,
    skyMagnitude: 19.8, cloud: 0, trees: 0, satellite: false, moon: false, seed: 'demo',
  };
  const steps = simulation(request, simulationPlan(request), embeddedCatalogue());
  let next = steps.next();
  for (; !next.done; next = steps.next()) writeFileSync(join(out, next.value.name), next.value.bytes);
  const truth: Truth = next.value;
  return truth.frames.map(({ file }) => ({ file: join(out, file), ...errorOf(truth) }));
}
