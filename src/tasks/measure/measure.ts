import type { Aim } from '../../axis/aim.js';
import type { Frame, Sourced } from '../../frames/frame.js';
import type { StarCatalogue } from '../../sky/catalogueSky.js';
import type { SiteGiven } from '../../sky/site.js';
import { givenValues } from '../given/given.js';
import { siteWithAzimuth } from '../given/siteInForce.js';
import { clockCorrected, starsOfFrame } from '../recognise/frameStars.js';
import { identifyFrames } from '../recognise/identifyFrames.js';
import { makeReference, startRecognition } from '../recognise/recognition.js';
import { type Measured, measured, nightBefore } from './measureFrames.js';
import { seen } from './seeFrames.js';
import type { SeeRequest } from './seeRequest.js';

/** What is known beside the frames. All but the catalogue may be left out. */
export interface MeasureOptions {
  /** The stars. */
  readonly catalogue: StarCatalogue;
  /** Where the frames were taken; else what their headers say; else there is no altitude or azimuth. */
  readonly site?: Omit<SiteGiven, 'relativeHumidity'>;
  /** Which pole the person aligns to: where it appears through the air (`refracted`, unless said otherwise) or where it is. */
  readonly aim?: Aim;
  /** Of the telescope or lens; else what the headers say. It speeds up the search; a wrong value does no harm. */
  readonly focalLengthMillimetres?: number;
  /** Of the stored pixels; likewise. */
  readonly pixelSizeMicrometres?: number;
  /** How far the camera's clock is ahead. */
  readonly clockAheadSeconds?: number;
}

/**
 * The error of a mount's axis from two or more frames with right-ascension rotation between them. The frames are decoded pictures
 * with the times they were taken at (mid-exposure, UTC); places in the answer are pixels of the stored pictures.
 *
 * @throws PolewardError `too-few-frames`, or the trouble of the first frame, where two usable ones don't remain; `no-rotation` where
 *   the mount was not turned between them; `bad-option` where the latitude has the wrong sign
 */
export function measure(frames: readonly Frame[], options: MeasureOptions): Measured {
  const request = requestOf(options);
  const stars = frames.map((frame) => clockCorrected(starsOfFrame(frame), request));
  const site = siteWithAzimuth(request, stars);
  const { outcomes } = identifyFrames(stars, makeReference(site?.site ?? null, request, options.catalogue), startRecognition());
  const frameSet = seen(outcomes, site);
  return measured(frameSet, nightBefore(frameSet, null, null), { ...request, before: undefined, turnedOnly: true });
}

function requestOf(
  { site, aim = 'refracted', focalLengthMillimetres, pixelSizeMicrometres, clockAheadSeconds }: MeasureOptions,
): SeeRequest {
  const said = (value: number | null | undefined): Sourced<number> | undefined =>
    (value === null || value === undefined ? undefined : { value, from: 'given' });
  return {
    aim,
    ...givenValues({
      latitudeDeg: said(site?.latitudeDeg), longitudeDeg: said(site?.longitudeDeg), elevationMetres: said(site?.elevationMetres),
      pressureHectopascal: said(site?.pressureHectopascal), temperatureCelsius: said(site?.temperatureCelsius),
      focalLengthMillimetres: said(focalLengthMillimetres), pixelSizeMicrometres: said(pixelSizeMicrometres),
      clockAheadSeconds: said(clockAheadSeconds),
    }, null),
  };
}

/**
 * A picture taken at a known time (mid-exposure) as a frame, for programs that hold pixels rather than files. `file`: what it is called in
 * messages.
 */
export function frameOf(file: string, image: Frame['image'], midExposure: Date): Frame {
  return {
    file, image, pixelOffset: 0, firstRowBottom: false, standIn: null, notes: [],
    metadata: {
      midExposure: { value: midExposure, from: 'given' }, exposureSeconds: null, pixelSizeMicrometres: null, binning: null,
      focalLengthMillimetres: null,
      latitudeDeg: null, longitudeDeg: null, elevationMetres: null, remarks: [],
    },
  };
}
