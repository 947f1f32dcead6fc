import type { SaidZone } from './cameraZone.js';
import type { FitsHeaders } from './fitsCard.js';
import { fitsClocks } from './fitsClockDoubts.js';
import { fitsPointing } from './fitsPointing.js';
import { fitsMidExposure } from './fitsTime.js';
import type { FrameMetadata, Sourced } from './frame.js';
import { longitudeFrom, siteOrNone, sourced } from './plausible.js';
import { parseDegrees } from './sexagesimal.js';

/**
 * What a FITS header says of time, exposure, optics and site, in the keywords that capture software commonly writes (common practice, apart
 * from the time keywords, XPOSURE and OBSGEO-*, which are FITS 4.0). Of several keywords for one thing the first usable one is used.
 * Impossible values are left out, each with a remark.
 */
export function fitsMetadata(headers: FitsHeaders, zone: SaidZone | null): FrameMetadata {
  const remarks: string[] = [];
  const find = (keywords: readonly string[], low: number, high: number, degrees = false): Sourced<number> | null => {
    for (const keyword of keywords) {
      const value = headers.get(keyword);
      if (value === undefined || value === null || value === '') continue;
      const text = typeof value === 'number' || typeof value === 'string' ? value : NaN;
      const found = sourced(degrees ? parseDegrees(text) : Number(text), low, high, `FITS ${keyword}`, remarks, String(value));
      if (found) return found;
    }
    return null;
  };

  const pointing = fitsPointing(headers);
  const exposureSeconds = find(['EXPTIME', 'EXPOSURE', 'XPOSURE'], 0, 86_400);
  const binning = find(['XBINNING', 'CCDXBIN'], 1, 64) ?? binningFrom(headers);
  const latitude = find(['SITELAT', 'LAT-OBS', 'OBSGEO-B', 'OBS-LAT', 'LATITUDE'], -90, 90, true);
  const longitude = longitudeFrom(find(['SITELONG', 'LONG-OBS', 'OBSGEO-L', 'OBS-LONG', 'LONGITUD'], -180, 360, true));
  const elevation = find(['SITEELEV', 'ALT-OBS', 'OBSGEO-H', 'OBS-ELEV'], -450, 9000);
  const { midExposure, unzonedClock } = fitsMidExposure(headers, exposureSeconds?.value ?? null, zone, remarks);
  const clocks = fitsClocks(headers, midExposure, exposureSeconds?.value ?? null);
  return {
    midExposure,
    exposureSeconds,
    pixelSizeMicrometres: pixelSize(find, binning, remarks),
    binning,
    // 0 means unknown: common practice.
    focalLengthMillimetres: headers.get('FOCALLEN') === 0 ? null : find(['FOCALLEN'], 1, 100_000),
    ...siteOrNone(latitude, longitude, elevation, remarks),
    ...(clocks.utcOffsetMinutes ? { utcOffsetMinutes: clocks.utcOffsetMinutes } : {}),
    ...(clocks.doubts.length > 0 ? { clockDoubts: clocks.doubts } : {}),
    ...(pointing ? { pointing } : {}),
    ...(unzonedClock ? { unzonedClock } : {}),
    remarks,
  };
}

/**
 * XPIXSZ is the pitch of the stored pixels, binning included; PIXSIZE1 that of the sensor's own: both common practice, which some software
 * breaks. Where both are given and equal in a binned picture, XPIXSZ is the sensor's too. A wrong pitch gives a wrong hint of the scale,
 * which the identification must tolerate.
 */
function pixelSize(
  find: (keywords: readonly string[], low: number, high: number) => Sourced<number> | null,
  binning: Sourced<number> | null,
  remarks: string[],
): Sourced<number> | null {
  const binned = find(['XPIXSZ'], 0.1, 1000);
  const own = find(['PIXSIZE1', 'PIXSIZE'], 0.1, 1000);
  if (binned && own && binning && binning.value > 1 && Math.abs(binned.value / own.value - 1) < 0.01) {
    const same = `FITS XPIXSZ is the same as ${own.from.replace('FITS ', '')} though ${binning.value} pixels were binned`;
    remarks.push(`${same}, so it was taken for the sensor's own.`);
    return { value: binned.value * binning.value, from: `FITS XPIXSZ × ${binning.from.replace('FITS ', '')}` };
  }
  if (binned) return binned;
  if (!own || !binning) return own;
  return { value: own.value * binning.value, from: `${own.from} × ${binning.from.replace('FITS ', '')}` };
}

/** "2 2" or "2x2". */
function binningFrom(headers: FitsHeaders): Sourced<number> | null {
  for (const keyword of ['CCDSUM', 'BINNING']) {
    const match = /^\s*(\d{1,2})\s*[x\s]\s*\d{1,2}\s*$/i.exec(String(headers.get(keyword) ?? ''));
    if (match && Number(match[1]) >= 1) return { value: Number(match[1]), from: `FITS ${keyword}` };
  }
  return null;
}
