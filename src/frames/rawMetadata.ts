import type { SaidZone } from './cameraZone.js';
import type { RawAbout } from './decoders.js';
import { noMetadata } from './exifMetadata.js';
import type { FrameMetadata } from './frame.js';
import { sourced } from './plausible.js';
import { givenOffset } from './zoneGiven.js';

/**
 * What the decoder says of a raw file whose own tags can't be read as EXIF. Its time is the camera's clock; only the given `zone` makes it
 * UTC.
 */
export function rawMetadata(about: RawAbout, zone: SaidZone | null): FrameMetadata {
  const remarks: string[] = [];
  const { clockMs, exposureSeconds: exposure, focalLengthMillimetres: focal } = about;
  const exposureSeconds = exposure === null ? null : sourced(exposure, 0, 86_400, 'raw file exposure time', remarks);
  let time: Pick<FrameMetadata, 'midExposure' | 'unzonedClock'> = { midExposure: null };
  if (clockMs === null) {
    remarks.push('It gives no time.');
  } else if (zone === null) {
    remarks.push('Its time was ignored: it does not say its offset from UTC. Give the zone the camera clock was set to.');
    time = { midExposure: null, unzonedClock: { value: clockMs, from: 'raw file time' } };
  } else {
    const given = givenOffset(zone, clockMs, 'Its time');
    const half = exposureSeconds ? exposureSeconds.value * 500 : 0;
    if ('problem' in given) remarks.push(given.problem);
    else time = {
      midExposure: {
        value: new Date(clockMs - given.minutes * 60_000 + half),
        from: `raw file time and ${given.from}${exposureSeconds ? ' + half the exposure' : ''}`,
      },
    };
  }
  return {
    ...noMetadata(), ...time, exposureSeconds, remarks,
    focalLengthMillimetres: focal === null ? null : sourced(focal, 1, 100_000, 'raw file focal length', remarks),
  };
}
