import { ARCMINUTE, DEGREE, wrapPositive } from '../../geometry/angle.js';
import { toSpherical } from '../../geometry/vector.js';
import { type AxisError, horizontal } from '../../axis/axisError.js';
import { toDirection } from '../../identify/lens.js';
import { apply } from '../../geometry/rotation.js';
import type { ErrorRecord, FrameRecord, MeasurementRecord } from '../../night/record/entry.js';
import type { KnownFrame } from '../recognise/recognition.js';
import type { Measured } from './measureFrames.js';
import type { FrameOnAxis } from '../../axis/axisResult.js';
import type { Limit, WhatIsSaid } from '../../night/said.js';
import type { Guidance } from './guidance.js';
import { directionWithoutSite } from './withoutSite.js';

/** What the sigma covers, what no frame can show, and what looks like an error and is none. */
const SIGMA_SOURCES = {
  included: ['stars', 'catalogue', 'refraction', 'polar motion'],
  unseen: ['flexure between camera and axis'],
  harmless: ['camera not parallel to the axis'],
};

/** The measurement as `poleward/measurement-1` (DESIGN: the JSON contract). Angles in the units their names say. */
export function measurementJson(
  { measurement, site, outcomes, known, warnings, unconfirmed }: Measured, guidance: Guidance, said: WhatIsSaid, limit: Limit,
): MeasurementRecord {
  const { axis, fromTruePole, fromRefractedPole, sigma, aim, hemisphere } = measurement;
  const place = horizontal(axis);
  const error = (e: AxisError): ErrorRecord => ({
    altitudeArcmin: site ? rounded(e.altitude / ARCMINUTE, 5) : null,
    azimuthArcmin: site ? rounded(e.azimuth / ARCMINUTE, 5) : null,
    separationArcmin: rounded(e.separation / ARCMINUTE, 5),
  });
  return {
    schema: 'poleward/measurement-1',
    axis: {
      altitudeDeg: site ? rounded(place.altitude / DEGREE, 6) : null,
      azimuthDeg: site ? rounded(place.azimuth / DEGREE, 6) : null,
      fromTruePole: error(fromTruePole),
      fromRefractedPole: error(fromRefractedPole),
      sigma: error(sigma),
      aim,
      sigmaSources: SIGMA_SOURCES,
      hemisphere: hemisphere === 1 ? 'north' : 'south',
      ...(site ? {} : directionWithoutSite(measurement, known[0]!.sky)),
    },
    frames: outcomes.map((outcome) => {
      if (!outcome.known || !known.includes(outcome.known)) {
        const { frame, trouble } = outcome.known ? { frame: outcome.known.frame, trouble: outcome.known.frame } : outcome;
        return {
          file: trouble.file, used: false, utc: frame?.metadata.midExposure?.value.toISOString() ?? null,
          detected: frame?.stars.length ?? null, identified: 0, centre: null, scaleArcsecPerPixel: null, mirrored: null,
          rotationDeg: null, residualPixels: null, rotationCentre: null, pole: null,
        };
      }
      return frameJson(outcome.known, measurement.frames[known.indexOf(outcome.known)]!, hemisphere);
    }),
    knobs: site ? guidance.advice.map(({ knob, move, arcmin, turns, direction, steps, act }) => ({
      knob, move, arcmin: rounded(arcmin, 3), turns: turns === null ? null : rounded(turns, 3), direction,
      steps: steps.map((s) => rounded(s, 3)), act,
    })) : [],
    verdict: { withinLimit: said.within, limitArcmin: rounded(limit.arcmin, 4), limitFrom: limit.from ?? 'usual' },
    doubts: said.doubts,
    unconfirmed,
    next: said.next.words,
    warnings,
    site: site && {
      latitudeDeg: site.latitudeDeg, longitudeDeg: site.longitudeDeg, elevationMetres: site.elevationMetres,
      pressureHectopascal: site.pressureHectopascal, temperatureCelsius: site.temperatureCelsius,
    },
  };
}

function frameJson(known: KnownFrame, onAxis: FrameOnAxis, hemisphere: 1 | -1): FrameRecord {
  const { frame, identification } = known;
  return {
    file: frame.file,
    used: true,
    utc: frame.metadata.midExposure?.value.toISOString() ?? null,
    detected: frame.stars.length,
    identified: identification.stars.length,
    ...pointingJson(known),
    rotationDeg: rounded(westward(onAxis.turn, hemisphere) / DEGREE, 4),
    residualPixels: rounded(onAxis.residualPixels, 3),
    rotationCentre: pixelJson(onAxis.rotationCentre),
    pole: pixelJson(onAxis.pole),
  };
}

/** Where a frame points, its scale and parity. */
export function pointingJson({ frame, sky, identification }: KnownFrame): {
  centre: { raDeg: number; decDeg: number }; scaleArcsecPerPixel: number; mirrored: boolean;
} {
  const { lens, pose } = identification;
  const middle = sky.fromLocal(apply(pose, toDirection(lens, (frame.width - 1) / 2, (frame.height - 1) / 2)));
  const { longitude, latitude } = toSpherical(middle);
  return {
    centre: { raDeg: rounded(wrapPositive(longitude) / DEGREE, 5), decDeg: rounded(latitude / DEGREE, 5) },
    scaleArcsecPerPixel: rounded(1 / (lens.focalPixels * DEGREE / 3600), 5),
    // Seen as the format shows it: FITS puts its first row at the bottom.
    mirrored: frame.firstRowBottom ? !lens.mirrored : lens.mirrored,
  };
}

/** A right-handed turn about the axis' elevated end as a turn westward, the way the mount tracks. */
export function westward(turn: number, hemisphere: 1 | -1): number {
  return -hemisphere * turn;
}

function pixelJson(pixel: { x: number; y: number } | null): { x: number; y: number } | null {
  return pixel && { x: rounded(pixel.x, 2), y: rounded(pixel.y, 2) };
}

export function rounded(value: number, digits: number): number {
  const factor = 10 ** digits;
  const r = Math.round(value * factor) / factor;
  return r === 0 ? 0 : r;
}
