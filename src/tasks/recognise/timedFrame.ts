import type { TimedFrame } from '../../axis/frameTime.js';
import { sunAltitude } from '../../sky/sun.js';
import type { SiteInForce } from '../given/siteInForce.js';
import type { KnownFrame } from './recognition.js';

/** All that a frame and the site say about its clock. A file's contradictions are ignored once the person has corrected the clock. */
export function timedFrame({ frame, sky }: KnownFrame, site: SiteInForce | null): TimedFrame {
  const { clockDoubts, utcOffsetMinutes, overruledZoneMinutes } = frame.metadata;
  const corrected = frame.clockAheadSeconds !== undefined;
  return {
    file: frame.file,
    time: sky.time,
    sunAltitude: site && sunAltitude(sky.time, site.site),
    ...(clockDoubts && !corrected ? { doubts: clockDoubts } : {}),
    ...(utcOffsetMinutes && !corrected ? { utcOffsetMinutes: utcOffsetMinutes.value } : {}),
    ...(overruledZoneMinutes && !corrected ? { overruledZone: overruledZoneMinutes } : {}),
    ...(frame.metadata.exposureSeconds ? { exposureSeconds: frame.metadata.exposureSeconds.value } : {}),
    ...(site ? { longitude: site.site.longitude } : {}),
  };
}
