/**
 * The demo's night carried on: its three rotated frames, then one after the azimuth knob was turned, one after the altitude knob
 * was, rendered as demo/make.mjs renders its own. Invented, as the demo is.
 */
import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { simulateFrames } from '../../src/tasks/simulate/simulateFrames.js';
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
  frames: { file: string }[];
  axis: { fromRefractedPole: { altitudeArcmin: number; azimuthArcmin: number } };
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
  return rendered({ altitudeError: -3.6, azimuthError: 14.3, rotations: [0, -31] }).at(-1)!;
}

/** Three frames like the demo's, taken at another time. */
export function stepsAt(time: Date): DemoStep[] {
  return rendered({ time, rotations: [0, -31, -64] });
}

function rendered(change: { readonly rotations: number[]; readonly time?: Date; readonly altitudeError?: number; readonly azimuthError?: number }): DemoStep[] {
  const out = scratchFolder();
  // As demo/make.mjs has it.
  simulateFrames({
    out, latitude: 47.31, longitude: 8.55, elevation: 640, time: new Date('2026-10-09T19:42:10Z'), focalLength: 200, aperture: 50,
    pixelSize: 7.4, size: { width: 640, height: 480 }, exposure: 3, interval: 52, altitudeError: -13.6, azimuthError: 24.3,
    frames: 1, periodicError: 0, rateError: 0, jitter: 0, tracking: true, roll: -77, pointing: 0.24, fwhm: 2.3, skyBrightness: 19.8, seed: 'demo', overwrite: true, ...change,
  });
  const truth = JSON.parse(readFileSync(join(out, 'truth.json'), 'utf8')) as Truth;
  return truth.frames.map(({ file }) => ({ file: join(out, file), ...errorOf(truth) }));
}
