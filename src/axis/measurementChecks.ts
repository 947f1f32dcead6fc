import { ARCMINUTE, DEGREE } from '../geometry/angle.js';
import { angleBetween } from '../geometry/vector.js';
import { type AxisError, horizontal } from './axisError.js';
import type { AxisResult } from './axisResult.js';
import type { Disagreement } from './oneRotation.js';
import type { Warning } from './warning.js';

/** What the checks need of a measurement. */
export interface Checked extends AxisResult {
  /** Largest turn between two frames, radians. */
  readonly largestTurn: number;
  readonly disagreement: Disagreement | null;
}

/** What the checks need of each frame used, in the order of the measurement. */
export interface CheckedFrame {
  readonly file: string;
  readonly identified: number;
  /** Focal length in pixels by header or person; null where it is not given. */
  readonly saidFocalPixels: number | null;
}

const SMALL_TURN = 20 * DEGREE;
const GOOD_TURN = 60 * DEGREE;
const FEW_STARS = 8;
const LOW_POLE = 15 * DEGREE;
/** A focal length differs when it is wrong by more than zoom rings and adapters usually make it. */
const FOCAL_DIFFERS = 0.05;

/** Warnings that follow from the measurement itself. Each says the effect on the answer and what to do. */
export function checkMeasurement(measurement: Checked, frames: readonly CheckedFrame[], poleAltitude: number | null): Warning[] {
  return [
    ...checkOneRotation(measurement, frames),
    ...checkTurn(measurement),
    ...checkStars(measurement, frames),
    ...checkPole(measurement, poleAltitude),
    ...checkScale(measurement, frames),
    ...checkAir(measurement),
    ...checkGeometry(measurement),
  ];
}

function checkOneRotation({ disagreement, sigma }: Checked, frames: readonly CheckedFrame[]): Warning[] {
  if (!disagreement) return [];
  const size = `${sizeWords(disagreement.slip)} ± ${sizeWords(disagreement.sigma)}`;
  const causes = 'a clutch slipped, the tripod sank, a knob was touched or a cable pulled';
  if (disagreement.frame !== null) {
    return [{
      code: 'not-one-rotation',
      message: `${frames[disagreement.frame]!.file} does not fit the rotation of the other frames, it is off by ${size}: ${causes}. `
        + `It was left out of the answer; if the axis moved at that moment, measure anew.`,
    }];
  }
  const which = frames.length === 3 ? 'Three frames can\'t tell which one is at fault' : 'No single frame is at fault';
  return [{
    code: 'not-one-rotation',
    message: `The frames don't fit one rotation, they disagree by ${size}: ${causes}. ${which}, so the error may be larger than the ± `
      + `${sizeWords(sigma.separation)} given. Tighten the clutches and measure anew with four frames.`,
  }];
}

function checkTurn({ largestTurn, sigma }: Checked): Warning[] {
  if (largestTurn >= SMALL_TURN) return [];
  const better = Math.sin(GOOD_TURN / 2) / Math.sin(largestTurn / 2);
  return [{
    code: 'small-rotation',
    message: `The mount was turned by only ${(largestTurn / DEGREE).toFixed(1)}° in all: the uncertainty is `
      + `± ${sizeWords(sigma.separation)}. With 60° the stars' part of it would be ${better.toFixed(better < 10 ? 1 : 0)} times smaller.`,
  }];
}

function checkStars({ sigma }: Checked, frames: readonly CheckedFrame[]): Warning[] {
  const poor = frames.filter((f) => f.identified < FEW_STARS);
  if (poor.length === 0) return [];
  const least = Math.min(...poor.map((f) => f.identified));
  return [{
    code: 'few-stars',
    message: `Only ${least} stars were recognised in ${poor.map((f) => f.file).join(', ')}: one wrong star would weigh `
      + `much. The uncertainty is ± ${sizeWords(sigma.separation)} at best. Expose longer, or wait for clouds to pass.`,
  }];
}

function checkPole({ sigma, aim }: Checked, poleAltitude: number | null): Warning[] {
  if (poleAltitude === null || poleAltitude >= LOW_POLE) return [];
  const cost = aim === 'true'
    ? `the air near the horizon makes altitude unsure, ± ${sizeWords(sigma.altitude)} is counted`
    : 'the air near the horizon bends stars unevenly, more than the ± given where it is layered';
  return [{
    code: 'low-pole',
    message: `The pole stands only ${(poleAltitude / DEGREE).toFixed(0)}° high: ${cost}. Give pressure and temperature of the air.`,
    remedies: ['give-air'],
  }];
}

function checkScale({ lens }: Checked, frames: readonly CheckedFrame[]): Warning[] {
  const said = frames.find((f) => f.saidFocalPixels !== null)?.saidFocalPixels;
  if (said === undefined || said === null) return [];
  const off = lens.focalPixels / said - 1;
  if (Math.abs(off) < FOCAL_DIFFERS) return [];
  return [{
    code: 'scale-differs',
    message: `The stars show an image scale ${(Math.abs(1 / (1 + off) - 1) * 100).toFixed(0)} % ${off > 0 ? 'finer' : 'coarser'} than `
      + `focal length and pixel size say. This answer uses the stars' and is not harmed; correct the two before you plan a run with them.`,
  }];
}

/** A camera that looks farther than this from the axis does not see the pole. */
const FAR_FROM_AXIS = 15 * DEGREE;
/** Air limits an answer if it makes it this much less certain, and the answer is no more certain than this. */
const AIR_COSTS = 1.5;
const SURE = 0.1 * ARCMINUTE;

function looksFar({ axis, frames }: AxisResult): boolean {
  return frames.some(({ pose }) => angleBetween(axis, [pose[2], pose[5], pose[8]]) > FAR_FROM_AXIS);
}

/** One-sigma error of the axis on the sky, both ways together. */
function overall({ axis }: AxisResult, { altitude, azimuth }: AxisError): number {
  return Math.hypot(altitude, azimuth * Math.cos(horizontal(axis).altitude));
}

function checkAir(measurement: Checked): Warning[] {
  const { sigma, sigmaWithAir } = measurement;
  if (!sigmaWithAir || !looksFar(measurement)) return [];
  const [now, then] = [overall(measurement, sigma), overall(measurement, sigmaWithAir)];
  if (now < SURE || now < AIR_COSTS * then) return [];
  return [{
    code: 'air-limits',
    message: `Far from the pole the air bends the stars' light otherwise than the pole's, and that limits the answer: ± `
      + `${sizeWords(now)} in all. With pressure and temperature given it would be ± ${sizeWords(then)}; frames higher up or nearer to `
      + 'the pole help as well.',
    remedies: ['give-air'],
  }];
}

function checkGeometry(measurement: Checked): Warning[] {
  const { sigma, sigmaWithAir = sigma, frames, largestTurn } = measurement;
  // Two narrow pictures far from the axis determine it mostly by their relative rotation, which their stars determine less well.
  if (frames.length > 2 || largestTurn < SMALL_TURN || !looksFar(measurement)
    || overall(measurement, sigmaWithAir) < 2 * SURE) return [];
  return [{
    code: 'weak-geometry',
    message: `Two frames so far from the pole show the axis only by how the pictures are turned against each other: ± `
      + `${sizeWords(overall(measurement, sigma))} in all. A third frame, turned as far again, makes it several times as sure.`,
  }];
}

/** "5.0′", below an arcminute "12.3″". */
function sizeWords(angle: number): string {
  const arcmin = angle / ARCMINUTE;
  if (arcmin >= 99.5) return `${(arcmin / 60).toFixed(1)}°`;
  return arcmin >= 1 ? `${arcmin.toFixed(1)}′` : `${(arcmin * 60).toFixed(1)}″`;
}

/** Altitude of the aimed pole in the measurement, radians. */
export function altitudeOfPole({ axis, fromRefractedPole }: AxisResult): number {
  return horizontal(axis).altitude - fromRefractedPole.altitude;
}
