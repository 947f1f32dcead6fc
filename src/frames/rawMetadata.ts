import type { RawAbout } from './decoders.js';
import { noMetadata } from './exifMetadata.js';
import type { FrameMetadata } from './frame.js';
import { sourced } from './plausible.js';

/**
 * What the decoder says of a raw file whose own tags can't be read as EXIF. Its time is the camera's clock, made UTC by
 * `utcOffsetMinutes` alone.
 */
export function rawMetadata(about: RawAbout, utcOffsetMinutes: number | null): FrameMetadata {
  const remarks: string[] = [];
  const { clockMs, exposureSeconds: exposure, focalLengthMillimetres: focal } = about;
  const exposureSeconds = exposure === null ? null : sourced(exposure, 0, 86_400, 'raw file exposure time', remarks);
  let midExposure: FrameMetadata['midExposure'] = null;
  if (clockMs === null) {
    remarks.push('It gives no time.');
  } else if (utcOffsetMinutes === null) {
    remarks.push('Its time was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.');
  } else {
    const half = exposureSeconds ? exposureSeconds.value * 500 : 0;
    midExposure = {
      value: new Date(clockMs - utcOffsetMinutes * 60_000 + half),
      from: `raw file time and the zone given${exposureSeconds ? ' + half the exposure' : ''}`,
    };
  }
  return {
    ...noMetadata(), midExposure, exposureSeconds, remarks,
    focalLengthMillimetres: focal === null ? null : sourced(focal, 1, 100_000, 'raw file focal length', remarks),
  };
}
